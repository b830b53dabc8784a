package ingest

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// sheetCell is a cell as the file has it.
type sheetCell struct {
	kind    string // "" or n number, s shared text, str or inlineStr text, b yes or no, e error, d date
	style   int    // number of its style
	value   string
	valued  bool   // there is a value, though it may be blank
	formula string // without its =
	formed  bool   // there is a formula, though its text may stand in another cell
}

// sheetCell reads the cell whose element was begun; its end is taken, and off the path.
func (p *xmlPart) sheetCell(element xml.StartElement) (sheetCell, error) {
	cell := sheetCell{kind: attribute(element, "t")}
	if style, err := strconv.Atoi(attribute(element, "s")); err == nil {
		cell.style = style
	}
	depth := len(p.path)
	for {
		token, err := p.next()
		if errors.Is(err, io.EOF) {
			return cell, p.book.damagedPart(p.name, io.ErrUnexpectedEOF)
		}
		if err != nil {
			return cell, err
		}
		switch inner := token.(type) {
		case xml.StartElement:
			if len(p.path) != depth+1 {
				continue
			}
			switch inner.Name.Local {
			case "v":
				cell.valued = true
				cell.value, err = p.plainText(false)
			case "is":
				cell.valued = true
				cell.value, err = p.plainText(true)
			case "f":
				cell.formed = true
				cell.formula, err = p.plainText(false)
			}
			if err != nil {
				return cell, err
			}
		case xml.EndElement:
			p.end()
			if len(p.path) < depth {
				return cell, nil
			}
		}
	}
}

// cellReader turns cells into the texts that the grammars of their columns read.
type cellReader struct {
	epoch  time.Time    // day 0 of serial dates
	texts  []string     // shared texts
	styles []clockStyle // what each style shows of a date and time
}

// read returns the text of a cell by the declared type of its column, "" for a blank one,
// and a code word where the cell holds no value that the column could read: the text is
// then what the sheet shows. An error means that the file is damaged.
//
// What a person typed comes out as it was typed: a number without the traces of its binary
// form, a serial date as the date. Nothing is rounded but those traces, to 15 digits, and a
// time to the second it is within a thousandth of.
func (r cellReader) read(c sheetCell, column Column) (text, code string, err error) {
	if c.formed && (!c.valued || c.value == "" && c.kind != "str") {
		return shorten("="+c.formula, longestCellShown), CodeNoValue, nil
	}
	switch c.kind {
	case "s":
		n, err := strconv.Atoi(strings.TrimSpace(c.value))
		if c.value == "" {
			return "", "", nil
		}
		if err != nil || n < 0 || n >= len(r.texts) {
			return "", "", fmt.Errorf("there is no shared text %s", shorten(c.value, longestCellShown))
		}
		return unescape(r.texts[n]), "", nil
	case "str", "inlineStr":
		return unescape(c.value), "", nil
	case "e":
		return strings.TrimSpace(c.value), CodeErrorCell, nil
	case "b":
		return truthText(strings.TrimSpace(c.value), column), "", nil
	case "d":
		return isoText(strings.TrimSpace(c.value), column), "", nil
	case "", "n":
		text, code = r.numberText(strings.TrimSpace(c.value), c.style, column)
		return text, code, nil
	default:
		return "", "", fmt.Errorf("a cell of unknown type %s", shorten(c.kind, longestCellShown))
	}
}

// numberText is the text of a numeric cell.
func (r cellReader) numberText(raw string, style int, column Column) (text, code string) {
	plain, serial, ok := plainDecimal(raw)
	if !ok {
		return raw, "" // the column's grammar refuses it
	}
	var shown clockStyle
	if style >= 0 && style < len(r.styles) {
		shown = r.styles[style]
	}
	switch {
	case column.Kind == Date || column.Kind == Time:
		// A whole day is midnight only where the sheet shows a time: otherwise it is the
		// date alone that was typed.
		text, ok = serialText(serial, r.epoch, column.Kind == Time && shown.time)
		if !ok {
			return plain, ""
		}
		return text, ""
	case !shown.date && !shown.time:
		return plain, ""
	}
	// 3-1 typed as a truss mark, 12-06-08 as a length, 8:00 as hours: the sheet has made
	// a date or a time of them, and what was typed is lost.
	if !shown.date {
		text, ok = hoursText(serial), serial >= 0
	} else {
		text, ok = serialText(serial, r.epoch, shown.time)
	}
	if !ok {
		text = plain
	}
	if column.Kind == Text {
		return text, ""
	}
	return text, CodeDateCell
}

// truthText is the text of a cell that holds TRUE or FALSE.
func truthText(value string, column Column) string {
	words := map[string]string{"1": "TRUE", "0": "FALSE", "true": "TRUE", "false": "FALSE"}
	word, known := words[value]
	switch {
	case !known:
		return value
	case column.Kind != Choice:
		return word
	case word == "TRUE":
		return "yes"
	default:
		return "no"
	}
}

// isoText is the text of a cell that holds a date as text, for a column of dates without
// its midnight.
func isoText(value string, column Column) string {
	if column.Kind == Date {
		value, _ = strings.CutSuffix(strings.TrimSuffix(value, ".000"), "T00:00:00")
	}
	return value
}

// escaped is a character that XML cannot hold, as the format writes it (ECMA-376 part 1,
// 22.9.2.19 ST_Xstring).
var escaped = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// unescape returns a text with its escaped characters, but for those that are no text, and
// with LF for every line end, as in a CSV file.
func unescape(text string) string {
	if strings.Contains(text, "_x") {
		text = escaped.ReplaceAllStringFunc(text, func(code string) string {
			n, err := strconv.ParseUint(code[2:6], 16, 16)
			if r := rune(n); err == nil && utf8.ValidRune(r) && (r >= ' ' || strings.ContainsRune("\t\n\r", r)) {
				return string(r)
			}
			return code
		})
	}
	if !strings.Contains(text, "\r") {
		return text
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
}
