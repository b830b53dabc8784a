package ingest

import (
	"encoding/xml"
	"regexp"
	"strconv"
	"strings"
)

// clockStyle is what a style shows of a number: a date, a time of the clock, or both. The
// number itself does not tell: 46258 is a count as well as a day.
type clockStyle struct {
	date, time bool
}

// clockStyles reads what each style of cells shows, in the order of their numbers.
func (b *workbook) clockStyles(name string) ([]clockStyle, error) {
	part, err := b.openPart(name, b.left)
	if err != nil {
		return nil, err
	}
	defer part.body.Close()
	own := map[string]clockStyle{}
	var styles []clockStyle
	err = part.each(func(element xml.StartElement) error {
		switch {
		case part.within("styleSheet", "numFmts", "numFmt"):
			own[attribute(element, "numFmtId")] = formatShows(attribute(element, "formatCode"))
		case part.within("styleSheet", "cellXfs", "xf"):
			id := attribute(element, "numFmtId")
			style, known := own[id]
			if !known {
				style = builtInShows(id)
			}
			styles = append(styles, style)
		}
		return nil
	})
	return styles, err
}

// builtInShows is what the formats show that the file format numbers without writing them
// out (ECMA-376 part 1, 18.8.30 numFmt).
func builtInShows(id string) clockStyle {
	n, err := strconv.Atoi(id)
	switch {
	case err != nil:
		return clockStyle{}
	case n >= 14 && n <= 17, n >= 27 && n <= 31, n == 36, n >= 50 && n <= 54, n == 57, n == 58:
		return clockStyle{date: true}
	case n >= 18 && n <= 21, n >= 32 && n <= 35, n >= 45 && n <= 47, n == 55, n == 56:
		return clockStyle{time: true}
	case n == 22:
		return clockStyle{date: true, time: true}
	default:
		return clockStyle{}
	}
}

var (
	// literalFormat is what a format only prints: "text", \x, _x and *x, and [Red].
	literalFormat = regexp.MustCompile(`"[^"]*"|\\.|[_*].`)
	bracketFormat = regexp.MustCompile(`\[[^\]]*\]`)
	elapsedFormat = regexp.MustCompile(`(?i)\[(?:h+|m+|s+)\]`)
)

// formatShows is what a format that is written out shows: its letters y, d, h and s stand
// for parts of a date and time, and m alone for a month.
func formatShows(code string) clockStyle {
	plain := literalFormat.ReplaceAllString(code, "")
	elapsed := elapsedFormat.MatchString(plain)
	plain = strings.ToLower(bracketFormat.ReplaceAllString(plain, ""))
	plain, _, _ = strings.Cut(plain, ";")
	if strings.Contains(plain, "general") {
		return clockStyle{}
	}
	shows := clockStyle{date: strings.ContainsAny(plain, "yd"), time: elapsed || strings.ContainsAny(plain, "hs")}
	if !shows.date && !shows.time && strings.Contains(plain, "m") {
		shows.date = true
	}
	return shows
}
