package workbook

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// kind is what a column's cells hold.
type kind int

const (
	kindText kind = iota
	kindNumber
	kindTime
)

// format is how the cells of a column look.
type format struct {
	name     string
	kind     kind
	unit     string // second line of the heading; empty where the heading says it all
	pattern  string // number format code
	decimals int    // shown, for the width of numbers
	percent  bool   // shown a hundredfold
	layout   string // Go layout of a time as text
}

const textCode = "@" // keeps a text cell text when the reader edits it

// formats lists every format in the order in which messages name them.
func formats() []format {
	return []format{
		{name: "text", kind: kindText, pattern: textCode},
		{name: "count", kind: kindNumber, pattern: "#,##0"},
		{name: "line", kind: kindNumber, pattern: "0"},
		{name: "number", kind: kindNumber, pattern: "#,##0.00", decimals: 2},
		{name: "rate", kind: kindNumber, pattern: "#,##0.0000", decimals: 4},
		{name: "usd", kind: kindNumber, unit: "USD", pattern: "#,##0.00", decimals: 2},
		{name: "bf", kind: kindNumber, unit: "BF", pattern: "#,##0.0", decimals: 1},
		{name: "pct", kind: kindNumber, unit: "%", pattern: "0.0%", decimals: 1, percent: true},
		{name: "min", kind: kindNumber, unit: "min", pattern: "#,##0.0", decimals: 1},
		{name: "hours", kind: kindNumber, unit: "hours", pattern: "#,##0.00", decimals: 2},
		{name: "feet", kind: kindNumber, unit: "ft", pattern: "#,##0.00", decimals: 2},
		{name: "inches", kind: kindNumber, unit: "in", pattern: "#,##0.000", decimals: 3},
		{name: "on", kind: kindTime, pattern: "yyyy-mm-dd", layout: time.DateOnly},
		{name: "at", kind: kindTime, pattern: "yyyy-mm-dd hh:mm", layout: "2006-01-02 15:04"},
	}
}

// code is the number format code of the cells, with a label before each number. The colour
// of negatives is no part of it: programs differ in what a format's colours look like.
func (f format) code(label string) string {
	if f.kind != kindNumber || label == "" {
		return f.pattern
	}
	label = `"` + label + ` "`
	return label + f.pattern + ";" + label + "-" + f.pattern
}

// Formats lists the names that Column.Format may have:
//
//	text    left aligned, every value as text
//	count   0 decimals        line   0 decimals, no mark between thousands
//	number  2 decimals        rate   4 decimals
//	usd     2 decimals        bf     1 decimal, board feet
//	pct     a fraction, shown as a percentage with 1 decimal
//	min     1 decimal         hours  2 decimals
//	feet    2 decimals        inches 3 decimals
//	on      a date            at     a date and time to the minute
func Formats() []string {
	var names []string
	for _, f := range formats() {
		names = append(names, f.name)
	}
	return names
}

func formatNamed(name string) (format, error) {
	all := formats()
	index := slices.IndexFunc(all, func(f format) bool { return f.name == name })
	if index < 0 {
		return format{}, fmt.Errorf("unknown format %q: one of %s", name, strings.Join(Formats(), ", "))
	}
	return all[index], nil
}

// shownWidth is the width of a cell as it is shown, in column units.
func (f format) shownWidth(cell any) float64 {
	switch value := cell.(type) {
	case string:
		widest := 0.0
		for line := range strings.SplitSeq(value, "\n") {
			widest = max(widest, textWidth(line, false))
		}
		return widest
	case Number:
		return digitWidth * float64(f.numberLength(value))
	case time.Time:
		return digitWidth * float64(len(f.layout))
	}
	return 0
}

// numberLength counts sign, digits and marks.
func (f format) numberLength(n Number) int {
	text, negative := strings.CutPrefix(string(n), "-")
	whole, _, _ := strings.Cut(text, ".")
	digits := len(strings.TrimLeft(whole, "0"))
	if f.percent {
		digits += 2
	}
	digits = max(digits, 1)
	length := digits + (digits-1)/3
	if negative {
		length++
	}
	if f.decimals > 0 {
		length += 1 + f.decimals
	}
	if f.percent {
		length += 2 // the sign is as wide as that
	}
	return length
}

// text is a cell as it is shown, near enough for a label.
func (f format) text(cell any) string {
	switch value := cell.(type) {
	case string:
		return value
	case Number:
		return string(value)
	case time.Time:
		return value.Format(f.layout)
	}
	return ""
}
