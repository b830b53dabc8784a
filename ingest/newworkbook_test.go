package ingest

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"
	"testing"
)

// parts are the parts of a workbook by their names, in order.
type parts []struct{ name, text string }

// newWorkbook writes the workbook that a text describes, in the XML itself: what a cell
// holds must not be the choice of a library. Each line is one of
//
//	broken: DEFECT            in the first line: what brokenWorkbook does to it
//	date1904                  serial dates count from 1904
//	sheet NAME                begins a sheet
//	hidden sheet NAME         begins a hidden one
//	merge A3:A4               merges cells of the sheet
//	                          (a blank line) a row that the file leaves out
//	CELL | CELL | …           a row
//	hidden: CELL | …          a hidden row
//
// and a cell one of
//
//	12.5                      text, shared
//	'12.5                     text that stands in the cell itself
//	n 12.5                    a number, raw as it is written in the file
//	date 46258                a number shown as a date; likewise time, moment, elapsed
//	b 1, b 0                  TRUE and FALSE
//	e #N/A                    an error
//	f B2*2                    a formula without a value
//	f B2*2 -> 14              a formula with a number
//	f B2&"x" -> 'x            a formula with a text
func newWorkbook(t testing.TB, description string) []byte {
	t.Helper()
	first, rest, _ := strings.Cut(description, "\n")
	if defect, broken := strings.CutPrefix(first, "broken: "); broken {
		return brokenWorkbook(t, defect, workbookParts(rest))
	}
	return zipped(t, workbookParts(description))
}

// styleNames are the styles that a cell may have, in the order of their numbers.
var styleNames = []string{"n", "date", "time", "moment", "elapsed"}

const styleSheet = `<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><numFmts count="2"><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd\ hh:mm"/><numFmt numFmtId="165" formatCode="[h]:mm"/></numFmts>` +
	`<cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="20"/><xf numFmtId="164"/><xf numFmtId="165"/></cellXfs></styleSheet>`

func workbookParts(description string) parts {
	const main = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	const office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	var texts []string
	var list, relations, sheets strings.Builder
	properties := ""
	all := parts{}
	var rows, merges strings.Builder
	count, row := 0, 0
	end := func() {
		if count > 0 {
			more := ""
			if merges.Len() > 0 {
				more = "<mergeCells>" + merges.String() + "</mergeCells>"
			}
			all = append(all, struct{ name, text string }{fmt.Sprintf("xl/worksheets/sheet%d.xml", count), "<worksheet " + main + "><sheetData>" + rows.String() + "</sheetData>" + more + "</worksheet>"})
		}
		rows.Reset()
		merges.Reset()
		row = 0
	}
	for line := range strings.Lines(description) {
		line = strings.TrimRight(line, "\r\n")
		name, shown := strings.CutPrefix(line, "sheet ")
		if !shown {
			name, _ = strings.CutPrefix(line, "hidden sheet ")
		}
		block, merge := strings.CutPrefix(line, "merge ")
		switch {
		case line == "date1904":
			properties = `<workbookPr date1904="1"/>`
		case name != line:
			end()
			count++
			state := map[bool]string{true: "visible", false: "hidden"}[shown]
			fmt.Fprintf(&sheets, `<sheet name="%s" sheetId="%d" state="%s" r:id="rId%d"/>`, escape(name), count, state, count)
			fmt.Fprintf(&relations, `<Relationship Id="rId%d" Type="%s/worksheet" Target="worksheets/sheet%d.xml"/>`, count, office, count)
		case merge:
			fmt.Fprintf(&merges, `<mergeCell ref="%s"/>`, block)
		case line == "":
			row++
		default:
			row++
			cells, hidden := strings.CutPrefix(line, "hidden: ")
			fmt.Fprintf(&rows, `<row r="%d"%s>`, row, map[bool]string{true: ` hidden="1"`}[hidden])
			for at, cell := range strings.Split(cells, "|") {
				rows.WriteString(cellXML(fmt.Sprintf("%s%d", columnLetters(at), row), strings.TrimSpace(cell), &texts))
			}
			rows.WriteString("</row>")
		}
	}
	end()
	for _, text := range texts {
		fmt.Fprintf(&list, `<si><t xml:space="preserve">%s</t></si>`, escape(text))
	}
	return append(parts{
		{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`},
		{"xl/workbook.xml", fmt.Sprintf(`<workbook %s xmlns:r="%s">%s<sheets>%s</sheets></workbook>`, main, office, properties, sheets.String())},
		{"xl/_rels/workbook.xml.rels", fmt.Sprintf(`<Relationships>%s<Relationship Id="t" Type="%s/sharedStrings" Target="/xl/sharedStrings.xml"/><Relationship Id="y" Type="%s/styles" Target="styles.xml"/></Relationships>`, relations.String(), office, office)},
		{"xl/styles.xml", styleSheet},
		{"xl/sharedStrings.xml", fmt.Sprintf(`<sst %s>%s</sst>`, main, list.String())},
	}, all...)
}

func cellXML(reference, cell string, texts *[]string) string {
	if cell == "" {
		return ""
	}
	if text, inline := strings.CutPrefix(cell, "'"); inline {
		return fmt.Sprintf(`<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, reference, escape(text))
	}
	kind, rest, typed := strings.Cut(cell, " ")
	for style, name := range styleNames {
		if typed && kind == name {
			return fmt.Sprintf(`<c r="%s" s="%d"><v>%s</v></c>`, reference, style, rest)
		}
	}
	switch {
	case typed && (kind == "b" || kind == "e"):
		return fmt.Sprintf(`<c r="%s" t="%s"><v>%s</v></c>`, reference, kind, rest)
	case typed && kind == "f":
		formula, value, valued := strings.Cut(rest, " -> ")
		text, isText := strings.CutPrefix(value, "'")
		switch {
		case isText:
			return fmt.Sprintf(`<c r="%s" t="str"><f>%s</f><v>%s</v></c>`, reference, escape(formula), escape(text))
		case valued:
			return fmt.Sprintf(`<c r="%s"><f>%s</f><v>%s</v></c>`, reference, escape(formula), value)
		default:
			return fmt.Sprintf(`<c r="%s"><f>%s</f></c>`, reference, escape(formula))
		}
	}
	*texts = append(*texts, cell)
	return fmt.Sprintf(`<c r="%s" t="s"><v>%d</v></c>`, reference, len(*texts)-1)
}

func escape(text string) string {
	var out bytes.Buffer
	if err := xml.EscapeText(&out, []byte(text)); err != nil {
		panic(err)
	}
	return out.String()
}

// zipped is an archive of parts; its bytes are the same each time.
func zipped(t testing.TB, all parts) []byte {
	t.Helper()
	var out bytes.Buffer
	archive := zip.NewWriter(&out)
	for _, part := range all {
		in, err := archive.Create(part.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := in.Write([]byte(part.text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := archive.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
