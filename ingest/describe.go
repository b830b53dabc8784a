package ingest

import (
	"fmt"
	"strings"
)

// Grammar says in one phrase how a cell of the column is written, with what a blank one
// means. Templates and help show it; the grammars themselves are in length.go, size.go,
// clock.go and number.go.
func (c Column) Grammar() string {
	how := ""
	switch c.Kind {
	case Code:
		how = "a code, as it stands: capitals and leading zeros count"
		if c.Station {
			how = "a station of plant.toml"
		}
	case Text:
		how = "any text"
	case Date:
		how = "a date: 2026-08-24"
	case Time:
		how = "a date and time by a 24-hour clock: 2026-08-24 06:10"
		if c.DateAlone {
			how += "; a date alone is that day's start"
		}
	case Integer:
		how = "a whole number" + c.limit()
	case Decimal:
		how = fmt.Sprintf("a number%s, %d decimals at most: more are refused, not rounded", c.limit(), c.Scale)
	case Length:
		how = "feet-inches-sixteenths (12-06-08), decimal feet (12.5) or 12'6 1/2\""
	case Size:
		how = "a nominal section: 2x4"
	case Choice:
		how = "one of " + strings.Join(c.Choices, ", ")
	}
	switch {
	case c.Required && c.Default == "":
		return how + "; never blank"
	case c.Default != "":
		return how + "; blank means " + c.Default
	default:
		return how + "; or blank"
	}
}

// limit is the smallest value in words.
func (c Column) limit() string {
	if c.Minimum == "" {
		return ""
	}
	return ", " + c.Minimum + " or more"
}

// Unit is the unit of the column's figures in words, "" for what is none.
func (c Column) Unit() string {
	switch {
	case c.Kind == Length:
		return "feet and inches"
	case c.Kind != Decimal && c.Kind != Integer:
		return ""
	}
	for _, known := range []struct{ ending, unit string }{
		{"usd_per_mbf", "dollars for a thousand board feet"}, {"rate_usd", "dollars an hour"}, {"_usd", "dollars"}, {"_min", "minutes"}, {"_bf", "board feet"},
		{"hours", "hours"}, {"boards", "boards"}, {"quantity", "trusses"}, {"trusses_built", "trusses"}, {"plies", "plies"}, {"pieces_per_ply", "pieces"},
		{"days_away", "days"}, {"days_restricted", "days"},
	} {
		if strings.HasSuffix(c.Name, known.ending) {
			return known.unit
		}
	}
	return ""
}

// ReadAgain says what becomes of rows that were read before when a file of the feed comes
// with the same ones.
func (f Feed) ReadAgain() string {
	var words []string
	if f.Record {
		words = append(words, "a row with a record takes the place of the one with that record")
	}
	switch {
	case len(f.Group) > 0:
		var parts []string
		for _, part := range f.Group {
			switch {
			case part.Column != "":
				parts = append(parts, part.Column)
			default:
				parts = append(parts, "day of "+part.ElseDateOf)
			}
		}
		group := "the newest file with any row of the same " + strings.Join(parts, " and ") + " is the truth for all of it"
		if f.Record {
			group = "of rows without one, " + group
		}
		words = append(words, group)
	case !f.Record || len(f.Key) > 1:
		words = append(words, "a row takes the place of the one with the same "+strings.Join(f.Key, ", "))
	}
	return strings.Join(words, "; ")
}
