package ingest

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// grammar reads the cells of one column where Go decides what they mean. read returns a
// value for each of the column's stored columns, "" for NULL; its error is a
// *problem.Problem without a place.
type grammar func(text string) ([]string, error)

// grammarOf returns the grammar of a column, or nil where text stands for itself or SQL
// reads a number.
func grammarOf(c Column, opts Options) grammar {
	switch {
	case c.Kind == Length:
		return func(text string) ([]string, error) { return readLength(c, text) }
	case c.Kind == Size:
		return one(ParseSize)
	case c.Kind == Date:
		return func(text string) ([]string, error) {
			day, err := ParseDate(text)
			return []string{day.Format(time.DateOnly)}, err
		}
	case c.Kind == Time:
		return func(text string) ([]string, error) {
			moment, err := parseIn(text, opts, c.DateAlone)
			instant := ""
			if moment.Definite {
				instant = moment.Instant.Format(time.DateTime)
			}
			return []string{moment.Wall.Format(time.DateTime), instant}, err
		}
	case c.Kind == Choice:
		return one(func(text string) (string, error) { return readChoice(c, text) })
	case c.Station:
		return one(func(text string) (string, error) { return readStation(opts.Stations, text) })
	default:
		return nil
	}
}

// parseIn is ParseTime for a feed whose clocks may stand in another zone than the plant's:
// the wall clock is then the plant's at that instant. A local time that such a clock skipped
// or repeated is refused, for the plant's own clock says nothing of it.
func parseIn(text string, opts Options, dateAlone bool) (Moment, error) {
	if opts.Reading == nil || opts.Reading.rules.Zone == nil {
		return ParseTime(text, opts.Zone, dateAlone)
	}
	zone := opts.Reading.rules.Zone
	if shaped(text, "0000-00-00") {
		return ParseTime(text, opts.Zone, dateAlone) // a day is the plant's day
	}
	moment, err := ParseTime(text, zone, dateAlone)
	if err != nil {
		return moment, err
	}
	if !moment.Definite {
		return Moment{}, badClock(CodeBadTime, "the clocks of "+zone.String()+" skipped this time or showed it twice", text, "correct the time: that clock was put forward or back in this hour")
	}
	local := moment.Instant.In(opts.Zone)
	moment.Wall = time.Date(local.Year(), local.Month(), local.Day(), local.Hour(), local.Minute(), local.Second(), 0, time.UTC)
	return moment, nil
}

// one makes a grammar of a reader of a single value.
func one(read func(text string) (string, error)) grammar {
	return func(text string) ([]string, error) {
		value, err := read(text)
		return []string{value}, err
	}
}

func readLength(c Column, text string) ([]string, error) {
	sixteenths, err := ParseLength(text)
	if err != nil {
		return []string{""}, err
	}
	if c.Minimum != "" && sixteenths < number(c.Minimum) {
		return []string{""}, &problem.Problem{
			What: fmt.Sprintf("a length of %s or more is needed (%s)", FormatLength(number(c.Minimum)), text), Code: CodeOutOfRange, Hint: lengthHint,
		}
	}
	return []string{fmt.Sprint(sixteenths)}, nil
}

// readChoice takes a word of the closed list in any case and returns it as declared.
func readChoice(c Column, text string) (string, error) {
	for _, choice := range c.Choices {
		if strings.EqualFold(choice, text) {
			return choice, nil
		}
	}
	return "", &problem.Problem{
		What: fmt.Sprintf("not one of %s (%s)", strings.Join(c.Choices, ", "), text), Code: CodeNotInList,
		Hint: didYouMean(text, c.Choices),
	}
}

// readStation takes a station of plant.toml, case and all: a code is never bent to fit.
func readStation(stations []string, text string) (string, error) {
	for _, station := range stations {
		if station == text {
			return station, nil
		}
	}
	hint := didYouMean(text, stations)
	if hint == "" {
		hint = "the stations are " + strings.Join(stations, ", ") + "; a new one goes into plant.toml first"
	}
	return "", &problem.Problem{
		What: fmt.Sprintf("no such station in plant.toml (%s)", text), Code: CodeUnknownStation, Hint: hint,
	}
}

// didYouMean names the nearest of the valid words, or returns "" when none is near.
func didYouMean(text string, valid []string) string {
	if near := problem.Nearest(text, valid); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}

// faultOf returns the code word of a grammar's error, or "" for none.
func faultOf(err error) string {
	var p *problem.Problem
	if errors.As(err, &p) {
		return p.Code
	}
	return ""
}
