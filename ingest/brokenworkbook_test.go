package ingest

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
	"slices"
	"strings"
	"testing"
)

// brokenWorkbook is a workbook, or what is taken for one, with the named defect. The first
// part whose name ends in sheet1.xml is the one that is broken.
func brokenWorkbook(t testing.TB, defect string, all parts) []byte {
	t.Helper()
	sheet := len(all) - 1
	change := func(old, new string) []byte {
		if !strings.Contains(all[sheet].text, old) {
			t.Fatalf("%s: there is no %s", defect, old)
		}
		all[sheet].text = strings.Replace(all[sheet].text, old, new, 1)
		return zipped(t, all)
	}
	switch defect {
	case "password":
		return append([]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), append(make([]byte, 40_000), utf16Text("EncryptedPackage")...)...)
	case "xls":
		return append([]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), append(make([]byte, 500), utf16Text("Workbook")...)...)
	case "xlsb":
		return zipped(t, parts{{"[Content_Types].xml", "x"}, {"xl/workbook.bin", "x"}})
	case "ods":
		return zipped(t, parts{{"mimetype", "x"}, {"content.xml", "x"}})
	case "zip":
		return zipped(t, parts{{"jobs.csv", "job,price_usd\n"}})
	case "empty zip":
		return zipped(t, parts{})
	case "cut off":
		whole := zipped(t, all)
		return whole[:len(whole)/2]
	case "a bad byte":
		whole := zipped(t, all)
		whole[bytes.Index(whole, []byte("worksheets/sheet1.xml"))+len("worksheets/sheet1.xml")+10] ^= 0xff
		return whole
	case "bomb":
		return misstated(t, all, sheet, 1<<40)
	case "understated":
		all[sheet].text += strings.Repeat(" ", 1<<20)
		return misstated(t, all, sheet, 2000)
	case "overstated":
		return misstated(t, all, sheet, 1<<20)
	case "a list without end":
		many := slices.Clone(all)
		for i := range 200_000 {
			many = append(many, struct{ name, text string }{fmt.Sprint("x", i), ""})
		}
		return zipped(t, many)
	case "a huge cell":
		all[sheet].text = strings.Replace(all[sheet].text, "<row r=\"2\">", `<row r="2"><c r="A2" t="inlineStr"><is><t>`+strings.Repeat("x", 10<<20)+"</t></is></c>", 1)
		return zipped(t, all)
	case "macros and links":
		return zipped(t, append(all, parts{{"xl/vbaProject.bin", "Sub Auto_Open()"}, {"xl/externalLinks/externalLink1.xml", "<externalLink/>"}}...))
	case "a part outside":
		all[2].text = strings.Replace(all[2].text, "worksheets/sheet1.xml", "../../../../etc/passwd", 1)
		return zipped(t, all)
	case "a far sheet":
		all[2].text = strings.Replace(all[2].text, `Target="worksheets/sheet1.xml"`, `Target="http://example.invalid/sheet1.xml" TargetMode="External"`, 1)
		return zipped(t, all)
	case "a part twice":
		return zipped(t, append(all, all[sheet]))
	case "no sheet part":
		return zipped(t, all[:sheet])
	case "cut sheet":
		all[sheet].text = all[sheet].text[:len(all[sheet].text)/2]
		return zipped(t, all)
	case "no rows":
		all[sheet].text = "<chartsheet/>"
		return zipped(t, all)
	case "too deep":
		return change("</sheetData>", "</sheetData>"+strings.Repeat("<x>", 200)+strings.Repeat("</x>", 200))
	case "rows backwards":
		return change(`<row r="2">`, `<row r="1">`)
	case "cells backwards":
		return change(`r="B2"`, `r="A2"`)
	case "a cell of another row":
		return change(`r="B2"`, `r="B3"`)
	case "no such text":
		return change(`t="s"><v>0</v>`, `t="s"><v>99</v>`)
	case "no such type":
		return change(`t="s"`, `t="zz"`)
	case "an entity":
		all[sheet].text = `<!DOCTYPE x [<!ENTITY boom "boom">]>` + strings.Replace(all[sheet].text, "<v>0</v>", "<v>&boom;</v>", 1)
		return zipped(t, all)
	case "too many rows":
		return change("</sheetData>", `<row r="1000001"><c><v>1</v></c></row></sheetData>`)
	default:
		t.Fatalf("no such defect: %s", defect)
		return nil
	}
}

// misstated is an archive that says of one part that it has so many bytes.
func misstated(t testing.TB, all parts, which int, size uint64) []byte {
	t.Helper()
	var out, packed bytes.Buffer
	press, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := press.Write([]byte(all[which].text)); err != nil {
		t.Fatal(err)
	}
	if err := press.Close(); err != nil {
		t.Fatal(err)
	}
	archive := zip.NewWriter(&out)
	for i, part := range all {
		text := []byte(part.text)
		header := &zip.FileHeader{Name: part.name, CRC32: crc32.ChecksumIEEE(text), CompressedSize64: uint64(len(text)), UncompressedSize64: uint64(len(text))}
		if i == which {
			text = packed.Bytes()
			header.Method, header.CompressedSize64, header.UncompressedSize64 = zip.Deflate, uint64(len(text)), size
		}
		in, err := archive.CreateRaw(header)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := in.Write(text); err != nil {
			t.Fatal(err)
		}
	}
	if err := archive.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
