package ingest

import (
	"fmt"
	"regexp"
	"strings"
	"time"
)

// A clockFormat reads dates, or times of the clock, as one plant writes them. Its grammar
// is declared in plant.toml and has these parts, all else stands for itself:
//
//	YYYY YY        year; YY is of this century
//	MM M           month in two digits, or in one or two
//	MMM            month by its English name of three letters
//	DD D           day in two digits, or in one or two
//	HH H           hour from 00 to 23 in two digits, or in one or two
//	hh h           hour from 1 to 12, which needs AM
//	MM             minute, in a time of the clock
//	SS             second; where a format has none they may stand after the minute
//	AM             AM or PM, in either case
type clockFormat struct {
	text   string // as declared
	shape  *regexp.Regexp
	parts  []string // part of each group of shape
	layout string   // for writing
	mark   string   // before seconds that the grammar does not name, "" where they cannot stand
}

var (
	datePart  = regexp.MustCompile(`YYYY|YY|MMM|MM|M|DD|D`)
	timePart  = regexp.MustCompile(`HH|H|hh|h|MM|SS|AM`)
	plainMark = regexp.MustCompile(`^[-/. :,]*$`)
)

// partShapes are the patterns of the parts, and how package time writes them.
var partShapes = map[string]struct{ pattern, layout string }{
	"YYYY": {`[0-9]{4}`, "2006"}, "YY": {`[0-9]{2}`, "06"}, "MMM": {`[A-Za-z]{3}`, "Jan"}, "M": {`[0-9]{1,2}`, "1"},
	"DD": {`[0-9]{2}`, "02"}, "D": {`[0-9]{1,2}`, "2"}, "HH": {`[0-9]{2}`, "15"}, "H": {`[0-9]{1,2}`, "15"},
	"hh": {`[0-9]{2}`, "03"}, "h": {`[0-9]{1,2}`, "3"}, "SS": {`[0-9]{2}`, "05"}, "AM": {`[AaPp][Mm]`, "PM"},
}

// newDateFormat reads the grammar of a date; ok is false for what is none: each of year,
// month and day once, the day never between a year that leads and its month.
func newDateFormat(text string) (*clockFormat, bool) {
	f := newClockFormat(text, datePart, "01")
	order := ""
	for _, part := range f.parts {
		order += part[:1]
	}
	return f, f.shape != nil && (order == "YMD" || order == "MDY" || order == "DMY")
}

// newTimeFormat reads the grammar of a time of the clock; ok is false for what is none: an
// hour, then minutes, and AM exactly with an hour from 1 to 12.
func newTimeFormat(text string) (*clockFormat, bool) {
	f := newClockFormat(text, timePart, "04")
	names := strings.Join(f.parts, " ")
	switch strings.ReplaceAll(strings.ReplaceAll(names, "hh", "h"), "HH", "H") {
	case "H MM", "H MM SS", "h MM AM", "h MM SS AM":
		return f, f.shape != nil
	}
	return f, false
}

// newClockFormat cuts a grammar into its parts. two is the layout of MM.
func newClockFormat(text string, parts *regexp.Regexp, two string) *clockFormat {
	f := &clockFormat{text: text}
	var pattern, layout strings.Builder
	pattern.WriteString("^")
	end := 0
	for _, at := range parts.FindAllStringIndex(text, -1) {
		mark := text[end:at[0]]
		if !plainMark.MatchString(mark) {
			return f
		}
		part := text[at[0]:at[1]]
		shape, known := partShapes[part]
		if !known {
			shape.pattern, shape.layout = `[0-9]{2}`, two
		}
		pattern.WriteString(regexp.QuoteMeta(mark) + "(" + shape.pattern + ")")
		layout.WriteString(mark + shape.layout)
		f.parts = append(f.parts, part)
		if parts == timePart && part == "MM" && mark != "" && !strings.Contains(text, "SS") {
			pattern.WriteString("(?:" + regexp.QuoteMeta(mark) + "([0-9]{2}))?")
			f.parts, f.mark = append(f.parts, "SS"), mark
		}
		end = at[1]
	}
	if !plainMark.MatchString(text[end:]) || len(f.parts) < 2 {
		return f
	}
	pattern.WriteString(regexp.QuoteMeta(text[end:]) + "$")
	f.shape, f.layout = regexp.MustCompile(pattern.String()), layout.String()+text[end:]
	return f
}

// date reads a date and returns it as 2026-08-24. ok is false for what is not of the format
// or no day.
func (f *clockFormat) date(text string) (iso string, ok bool) {
	match := f.shape.FindStringSubmatch(text)
	if match == nil {
		return "", false
	}
	var year, month, day int64
	for i, part := range f.parts {
		switch part {
		case "YYYY":
			year = number(match[i+1])
		case "YY":
			year = 2000 + number(match[i+1])
		case "MMM":
			name, err := time.Parse("Jan", strings.ToUpper(match[i+1][:1])+strings.ToLower(match[i+1][1:]))
			if err != nil {
				return "", false
			}
			month = int64(name.Month())
		case "MM", "M":
			month = number(match[i+1])
		case "DD", "D":
			day = number(match[i+1])
		}
	}
	iso = fmt.Sprintf("%04d-%02d-%02d", year, month, day)
	_, err := time.Parse(time.DateOnly, iso)
	return iso, err == nil
}

// clock reads a time of the clock and returns it as 06:10:00. ok is false for what is not
// of the format or no time.
func (f *clockFormat) clock(text string) (iso string, ok bool) {
	match := f.shape.FindStringSubmatch(text)
	if match == nil {
		return "", false
	}
	var hour, minute, second int64
	twelve, after := false, false
	for i, part := range f.parts {
		switch part {
		case "HH", "H":
			hour = number(match[i+1])
		case "hh", "h":
			hour, twelve = number(match[i+1]), true
		case "MM":
			minute = number(match[i+1])
		case "SS":
			second = number(match[i+1])
		case "AM":
			after = strings.EqualFold(match[i+1], "PM")
		}
	}
	if twelve {
		if hour < 1 || hour > 12 {
			return "", false
		}
		if hour %= 12; after {
			hour += 12
		}
	}
	return fmt.Sprintf("%02d:%02d:%02d", hour, minute, second), hour < 24 && minute < 60 && second < 60
}

// write writes a time of the clock such as 06:10:00 in the format, with seconds where it
// has any. What is none is returned as it is.
func (f *clockFormat) write(iso string) string {
	at, err := time.Parse(time.TimeOnly, iso)
	if err != nil {
		return iso
	}
	layout := f.layout
	if at.Second() != 0 && f.mark != "" {
		layout = strings.Replace(layout, "04", "04"+f.mark+"05", 1)
	}
	return at.Format(layout)
}
