package ingest

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// testReader has the styles of styleNames and two shared texts.
func testReader() cellReader {
	return cellReader{
		epoch: epoch1900, texts: []string{"zero", "a_x000D_\nb_x005F_x0041__x0000_"},
		styles: []clockStyle{{}, {date: true}, {time: true}, {date: true, time: true}, {time: true}},
	}
}

func TestCellText(t *testing.T) {
	number, code, choice := Column{Kind: Decimal}, Column{Kind: Code}, Column{Kind: Choice}
	date, moment, length, text := Column{Kind: Date}, Column{Kind: Time}, Column{Kind: Length}, Column{Kind: Text}
	for _, c := range []struct {
		name       string
		cell       sheetCell
		column     Column
		want, code string
	}{
		{"a number", sheetCell{value: "12.3"}, number, "12.3", ""},
		{"zeros at its end", sheetCell{value: "12.300"}, number, "12.3", ""},
		{"a binary artefact", sheetCell{value: "0.10000000000000001"}, number, "0.1", ""},
		{"an artefact below", sheetCell{value: "8450.0999999999995"}, number, "8450.1", ""},
		{"an artefact over many nines", sheetCell{value: "0.99999999999999989"}, number, "1", ""},
		{"an exponent", sheetCell{value: "1.2E-3"}, number, "0.0012", ""},
		{"a large exponent", sheetCell{value: "1.2e+15"}, number, "1200000000000000", ""},
		{"negative", sheetCell{value: "-0.5"}, number, "-0.5", ""},
		{"minus nothing", sheetCell{value: "-0"}, number, "0", ""},
		{"a whole number of many digits", sheetCell{value: "1234567890123456789"}, code, "1234567890123456789", ""},
		{"15 digits are typed", sheetCell{value: "123456789012.345"}, number, "123456789012.345", ""},
		{"out of all proportion", sheetCell{value: "1E+300"}, number, "1E+300", ""},
		{"no number", sheetCell{value: "NaN"}, number, "NaN", ""},
		{"a code", sheetCell{value: "123.0"}, code, "123", ""},
		{"a code that is no whole number", sheetCell{value: "12.5"}, code, "12.5", ""},
		{"a code that is text", sheetCell{kind: "s", value: "0"}, code, "zero", ""},
		{"a code that looks like a number", sheetCell{kind: "str", value: "007"}, code, "007", ""},
		{"escapes and line ends", sheetCell{kind: "s", value: "1"}, text, "a\nb_x0041__x0000_", ""},
		{"decimal feet", sheetCell{value: "12.5"}, length, "12.5", ""},
		{"a length that became a date", sheetCell{value: "46003", style: 1}, length, "2025-12-12", CodeDateCell},
		{"a code that became a date", sheetCell{value: "46082", style: 1}, code, "2026-03-01", CodeDateCell},
		{"hours that became a time", sheetCell{value: "0.33333333333333331", style: 2}, number, "08:00:00", CodeDateCell},
		{"hours beyond a day", sheetCell{value: "1.25", style: 4}, number, "30:00:00", CodeDateCell},
		{"a date in free text", sheetCell{value: "46082", style: 1}, text, "2026-03-01", ""},
		{"yes", sheetCell{kind: "b", value: "1"}, choice, "yes", ""},
		{"no", sheetCell{kind: "b", value: "0"}, choice, "no", ""},
		{"true", sheetCell{kind: "b", value: "1"}, code, "TRUE", ""},
		{"an error", sheetCell{kind: "e", value: "#REF!", formed: true, valued: true}, code, "#REF!", CodeErrorCell},
		{"no value", sheetCell{formed: true, formula: "B2*2"}, number, "=B2*2", CodeNoValue},
		{"a blank value of a number", sheetCell{formed: true, formula: "B2*2", valued: true}, number, "=B2*2", CodeNoValue},
		{"a formula that gives blank text", sheetCell{kind: "str", formed: true, valued: true}, number, "", ""},
		{"a date", sheetCell{value: "46258"}, date, "2026-08-24", ""},
		{"a date with a time", sheetCell{value: "46258.5"}, date, "2026-08-24 12:00:00", ""},
		{"a date off by an artefact", sheetCell{value: "46258.000000001"}, date, "2026-08-24", ""},
		{"a date off by an artefact below", sheetCell{value: "46257.999999999"}, date, "2026-08-24", ""},
		{"a date as ISO text", sheetCell{kind: "d", value: "2026-08-24T00:00:00.000"}, date, "2026-08-24", ""},
		{"a time as ISO text", sheetCell{kind: "d", value: "2026-08-24T06:10:00"}, moment, "2026-08-24T06:10:00", ""},
		{"a small number is no date", sheetCell{value: "60"}, date, "60", ""},
		{"a large number is no date", sheetCell{value: "20260824"}, date, "20260824", ""},
		{"a time", sheetCell{value: "46258.256944444445"}, moment, "2026-08-24 06:10:00", ""},
		{"a time of 15 digits", sheetCell{value: "46258.2569560185"}, moment, "2026-08-24 06:10:01", ""},
		{"a second before midnight", sheetCell{value: "46258.999988425923"}, moment, "2026-08-24 23:59:59", ""},
		{"no whole second", sheetCell{value: "46258.25000579"}, moment, "2026-08-24 06:00:00.500", ""},
		{"a time of day alone", sheetCell{value: "0.25"}, moment, "06:00:00", ""},
		{"midnight that is shown", sheetCell{value: "46258", style: 3}, moment, "2026-08-24 00:00:00", ""},
		{"a date alone", sheetCell{value: "46258", style: 1}, moment, "2026-08-24", ""},
		{"a date alone, without a style", sheetCell{value: "46258"}, moment, "2026-08-24", ""},
		{"blank", sheetCell{}, date, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, code, err := testReader().read(c.cell, c.column)
			if err != nil || got != c.want || code != c.code {
				t.Errorf("%q [%s], %v, want %q [%s]", got, code, err, c.want, c.code)
			}
		})
	}
}

// TestSerialDates goes from dates to serials and back, by both systems, for every second of
// a day and for days of every year.
func TestSerialDates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		epoch := rapid.SampledFrom([]time.Time{epoch1900, epoch1904}).Draw(t, "epoch")
		day := rapid.IntRange(0, 36524).Draw(t, "day")
		second := rapid.IntRange(1, 86399).Draw(t, "second")
		moment := time.Date(2000, 1, 1+day, 0, 0, second, 0, time.UTC)
		serial := moment.Sub(epoch).Seconds() / 86400
		raw := strconv.FormatFloat(serial, 'g', rapid.SampledFrom([]int{15, 17, -1}).Draw(t, "digits"), 64)
		reader := cellReader{epoch: epoch}
		if got, _, err := reader.read(sheetCell{value: raw}, Column{Kind: Time}); err != nil || got != moment.Format(time.DateTime) {
			t.Fatalf("%s is %q, %v, want %s", raw, got, err, moment.Format(time.DateTime))
		}
	})
}

// TestTypedNumbers types numbers of up to 15 digits, as a sheet stores them, and expects
// them as they were typed.
func TestTypedNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := strconv.FormatInt(rapid.Int64Range(1, 999_999_999_999_999).Draw(t, "digits"), 10)
		scale := rapid.IntRange(0, 12).Draw(t, "scale")
		typed := placePoint(digits, len(digits)-scale)
		if strings.Contains(typed, ".") {
			typed = strings.TrimRight(strings.TrimRight(typed, "0"), ".")
		}
		value, err := strconv.ParseFloat(typed, 64)
		if err != nil {
			t.Fatal(err)
		}
		for _, raw := range []string{typed, strconv.FormatFloat(value, 'g', 17, 64), strconv.FormatFloat(value, 'E', 16, 64), strconv.FormatFloat(value, 'g', -1, 64)} {
			if got, _, ok := plainDecimal(raw); !ok || got != typed {
				t.Fatalf("%s is %q, want %s", raw, got, typed)
			}
		}
	})
}

func TestFormatShows(t *testing.T) {
	for format, want := range map[string]clockStyle{
		"General": {}, "0.00": {}, `#,##0.00_);[Red]\(#,##0.00\)`: {}, `0 "days"`: {}, "@": {}, `"$"#,##0`: {}, `0.0\h`: {}, "[$-409]General": {},
		"yyyy-mm-dd": {date: true}, "d/m/yy;@": {date: true}, "mmm": {date: true}, `[$-409]d\-mmm;@`: {date: true},
		"h:mm": {time: true}, "[h]:mm": {time: true}, "[mm]:ss": {time: true}, "h:mm AM/PM": {time: true},
		"yyyy-mm-dd hh:mm": {date: true, time: true}, `m/d/yy "at" h:mm`: {date: true, time: true},
	} {
		if got := formatShows(format); got != want {
			t.Errorf("%s shows %+v, want %+v", format, got, want)
		}
	}
}

func TestCellNames(t *testing.T) {
	for cell, name := range map[int]string{0: "A", 25: "Z", 26: "AA", 701: "ZZ", 702: "AAA", widestSheet - 1: "XFD"} {
		if got := columnLetters(cell); got != name {
			t.Errorf("cell %d is %s, want %s", cell, got, name)
		}
		if got, row, ok := columnOfLetters(name + "37"); !ok || got != cell || row != 37 {
			t.Errorf("%s37 is %d, %d, %t, want %d, 37", name, got, row, ok, cell)
		}
	}
	for _, name := range []string{"", "A", "7", "a1", "XFE1", "AAAA1", "A0", "A-1", "A1B", "A12345678"} {
		if cell, row, ok := columnOfLetters(name); ok {
			t.Errorf("%s is %d, %d, want none", name, cell, row)
		}
	}
}

// TestBoundedPart reads a part that goes on beyond each limit.
func TestBoundedPart(t *testing.T) {
	for _, c := range []struct{ most, left int64 }{{10, 100}, {100, 10}} {
		left := c.left
		in := &boundedPart{in: io.NopCloser(strings.NewReader(strings.Repeat("x", 50))), most: c.most, left: &left}
		if n, err := io.Copy(io.Discard, in); !errors.Is(err, errTooLarge) || n > 10 {
			t.Errorf("%+v: %d bytes, %v", c, n, err)
		}
	}
}

// FuzzCellText reads any cell into any column: the text is plain, and what is read as a
// number is the number of the file.
func FuzzCellText(f *testing.F) {
	for _, seed := range []string{"", "12.3", "0.10000000000000001", "1.2E-3", "46258.256944444445", "-1", "1e999", "#N/A", "_x000D_", "9e40", "0.0000001"} {
		for _, kind := range []string{"", "s", "str", "b", "e", "d"} {
			f.Add(kind, seed, 1, int(Date), true, false)
		}
	}
	f.Fuzz(func(t *testing.T, kind, value string, style, columnKind int, valued, formed bool) {
		column := Column{Kind: Kind(columnKind)}
		text, code, err := testReader().read(sheetCell{kind: kind, value: value, style: style, valued: valued, formed: formed}, column)
		if err != nil && (text != "" || code != "") {
			t.Errorf("%q [%s] with %v", text, code, err)
		}
		if utf8.ValidString(value) && (!utf8.ValidString(text) || strings.ContainsAny(text, "\x00\r") && !strings.ContainsAny(value, "\x00\r")) {
			t.Errorf("%q is not plain", text)
		}
		plain, read, ok := plainDecimal(value)
		if !ok {
			return
		}
		if again, err := strconv.ParseFloat(plain, 64); err != nil || math.Abs(again-read) > math.Abs(read)*1e-14 || strings.ContainsAny(plain, "eE+") {
			t.Errorf("%s is %s, %v", value, plain, err)
		}
		if twice, _, ok := plainDecimal(plain); !ok || twice != plain {
			t.Errorf("%s is %s, and that is %s", value, plain, twice)
		}
		if column.Kind == Date && kind == "" && !formed && strings.Contains(text, "-") && !strings.HasPrefix(text, "-") {
			if _, err := time.Parse(time.DateOnly, strings.Fields(text)[0]); err != nil {
				t.Error(fmt.Sprint(value, " is no date: ", text))
			}
		}
	})
}
