package workbook

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf16"
)

// longestText is what a cell holds, in UTF-16 units.
const longestText = 32_767

// firstDate is where the date system of the file format begins to be right: it holds a
// 29 February 1900, which never was.
func firstDate() time.Time { return time.Date(1900, time.March, 1, 0, 0, 0, 0, time.UTC) }

// settle turns a caller's cell into what the column's cells hold: nil, string, Number (in a
// column of numbers) or time.Time (in a column of times, as UTC wall clock to the second).
func (f format) settle(value any) (any, error) {
	switch value := value.(type) {
	case nil:
		return nil, nil
	case string:
		return settleText(value), nil
	case bool:
		if value {
			return "yes", nil
		}
		return "no", nil
	case Number:
		return f.settleNumber(value)
	case time.Time:
		return f.settleTime(value)
	}
	return nil, fmt.Errorf("a cell of Go type %T: nil, string, Number, time.Time or bool are cells", value)
}

func (f format) settleNumber(value Number) (any, error) {
	if err := value.check(); err != nil {
		return nil, fmt.Errorf("%q: %w", string(value), err)
	}
	switch f.kind {
	case kindText:
		return string(value), nil
	case kindTime:
		return nil, fmt.Errorf("number %s in a column of format %q", value, f.name)
	}
	return value, nil
}

func (f format) settleTime(value time.Time) (any, error) {
	wall := time.Date(value.Year(), value.Month(), value.Day(), value.Hour(), value.Minute(), value.Second(), 0, time.UTC)
	switch {
	case f.kind == kindText:
		if wall.Equal(wall.Truncate(24 * time.Hour)) {
			return wall.Format(time.DateOnly), nil
		}
		return wall.Format("2006-01-02 15:04"), nil
	case f.kind == kindNumber:
		return nil, fmt.Errorf("time %s in a column of format %q", wall.Format(time.DateTime), f.name)
	case wall.Before(firstDate()):
		return wall.Format(f.layout), nil
	case f.layout == time.DateOnly:
		return wall.Truncate(24 * time.Hour), nil // a hidden time of day would defeat filters
	}
	return wall, nil
}

// settleText makes an empty text a blank cell, and cuts what no cell can hold, saying so in
// the cell.
func settleText(text string) any {
	if text == "" {
		return nil
	}
	text = strings.ReplaceAll(text, "\r\n", "\n")
	if len(text) <= longestText {
		return text
	}
	units := utf16.Encode([]rune(text))
	if len(units) <= longestText {
		return text
	}
	mark := fmt.Sprintf("… [cut: %d characters]", len(units))
	room := longestText - len(utf16.Encode([]rune(mark)))
	if high := units[room-1]; utf16.IsSurrogate(rune(high)) && high < 0xDC00 {
		room-- // half of a character
	}
	return string(utf16.Decode(units[:room])) + mark
}
