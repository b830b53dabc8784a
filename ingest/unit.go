package ingest

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"

	"trusstally/ingest/problem"
)

// The units in which a plant's file may have a figure that the feed has in another.
const (
	unitBoard      = "board"       // dollars a board
	unitFoot       = "foot"        // dollars a foot of length
	unitBoardFoot  = "bf"          // dollars a board foot
	unitClock      = "h:mm"        // hours and minutes such as 7:30
	unitHours      = "hours"       // hours such as 7.5
	unitMinutes    = "minutes"     // minutes such as 450
	unitBatch      = "batch"       // minutes for all trusses of the row
	unitBatchClock = "batch h:mm"  // hours and minutes for all of them
	unitBatchHours = "batch hours" // hours for all of them
)

// Units returns the units in which plant.toml may say that a column is given, beside its own.
func (f Feed) Units(c Column) []string {
	switch {
	case c.Name == "usd_per_mbf":
		return []string{unitBoard, unitFoot, unitBoardFoot}
	case c.Name == "hours":
		return []string{unitClock, unitMinutes}
	case f.Name == "trusses" && c.Name == "quoted_build_min":
		return []string{unitClock, unitHours, unitBatch, unitBatchClock, unitBatchHours}
	case strings.HasSuffix(c.Name, "_min"):
		return []string{unitClock, unitHours}
	}
	return nil
}

var hoursAndMinutes = regexp.MustCompile(`^(-?)([0-9]{1,5}):([0-5][0-9])(?::([0-5][0-9]))?$`)

// clockHours reads 7:30 or 7:30:15 as hours; ok is false for anything else.
func clockHours(text string) (hours *big.Rat, ok bool) {
	match := hoursAndMinutes.FindStringSubmatch(text)
	if match == nil {
		return nil, false
	}
	hours = big.NewRat(number(match[2])*3600+number(match[3])*60+number(match[4]), 3600)
	if match[1] == "-" {
		hours.Neg(hours)
	}
	return hours, true
}

// rational reads a number of digits, point and minus sign.
func rational(plain string) *big.Rat {
	value, _ := new(big.Rat).SetString(plain)
	return value
}

// inUnit turns the figure that the file has in another unit into the column's own. Nothing
// is rounded that would tell: what the column holds must come back to the plant's own
// figure, to the cent of a price's line, to the second of hours, else exactly. Where
// another cell that it needs cannot be read, the row is refused for that one, and what is
// returned here is no more than readable.
func (r *rowReader) inUnit(c Column, unit string, figure *big.Rat, text string) (string, *problem.Problem) {
	switch unit {
	case unitBoard, unitFoot, unitBoardFoot:
		return r.pricePerMBF(c, unit, figure, text)
	case unitMinutes:
		figure = new(big.Rat).Quo(figure, big.NewRat(60, 1))
	case unitHours, unitBatchHours, unitBatchClock:
		figure = new(big.Rat).Mul(figure, big.NewRat(60, 1))
	case unitClock:
		if c.Name != "hours" {
			figure = new(big.Rat).Mul(figure, big.NewRat(60, 1))
		}
	}
	switch unit {
	case unitBatch, unitBatchClock, unitBatchHours:
		trusses, ok := r.figureOf("quantity")
		if !ok {
			return "0", nil
		}
		if trusses.Sign() == 0 {
			if figure.Sign() == 0 {
				return "0", nil
			}
			return "", notExact(c, text, "minutes for a batch of no trusses", "check the quantity")
		}
		figure = new(big.Rat).Quo(figure, trusses)
	}
	held := figure.FloatString(c.Scale)
	if c.Name == "hours" {
		seconds := big.NewRat(3600, 1)
		if whole := new(big.Rat).Mul(figure, seconds); whole.IsInt() && new(big.Rat).Mul(rational(held), seconds).FloatString(0) == whole.FloatString(0) {
			return held, nil
		}
		return "", notExact(c, text, "not a whole number of seconds", "hours and minutes, or hours in decimals that make whole seconds")
	}
	if rational(held).Cmp(figure) != 0 {
		hint := "give it in minutes; nothing is rounded on the way in"
		if strings.HasPrefix(unit, unitBatch) {
			hint = "give the minutes of one truss; nothing is rounded on the way in"
		}
		return "", notExact(c, text, fmt.Sprintf("no number of minutes with %s", counted(c.Scale, "decimal")), hint)
	}
	return held, nil
}

// pricePerMBF turns a price into dollars for a thousand board feet: nominal thickness
// (under 1 in counts as 1) x nominal width in inches x length in feet / 12 (American
// Softwood Lumber Standard, PS 20). Four decimals of it must make the line's amount to the
// cent; where the feed has no number of boards, the price must be exact.
func (r *rowReader) pricePerMBF(c Column, unit string, price *big.Rat, text string) (string, *problem.Problem) {
	thousand := big.NewRat(1000, 1)
	feet := big.NewRat(1, 1) // board feet of what is priced
	board := big.NewRat(0, 1)
	if thickness, width, err := SizeQuarters(r.textOf("size")); err == nil {
		foot := big.NewRat(max(thickness, quartersPerInch)*width, quartersPerInch*quartersPerInch*12)
		length, err := ParseLength(r.textOf("length"))
		if err == nil {
			board.Mul(foot, big.NewRat(length, sixteenthsPerFoot))
		}
		switch {
		case unit == unitFoot:
			feet = foot
		case unit == unitBoard && err == nil && length > 0:
			feet = board
		case unit == unitBoard && r.textOf("length") == "":
			return "", notExact(c, text, "a price a board, and the board has no length", "give the length, or the price for a thousand board feet")
		case unit == unitBoard:
			return "0", nil
		}
	} else if unit != unitBoardFoot {
		return "0", nil
	}
	exact := new(big.Rat).Quo(new(big.Rat).Mul(price, thousand), feet)
	held := exact.FloatString(c.Scale)
	if rational(held).Cmp(exact) == 0 {
		return held, nil
	}
	boards, ok := r.figureOf("boards")
	if !ok && columnNumber(r.feed, "boards") >= 0 {
		return "0", nil
	}
	if ok {
		line := new(big.Rat).Quo(new(big.Rat).Mul(boards, board), thousand)
		if new(big.Rat).Mul(line, exact).FloatString(2) == new(big.Rat).Mul(line, rational(held)).FloatString(2) {
			return held, nil
		}
	}
	return "", notExact(c, text, "no price for a thousand board feet of 4 decimals comes to the same dollars", "give the price for a thousand board feet")
}

func notExact(c Column, text, what, hint string) *problem.Problem {
	return &problem.Problem{What: fmt.Sprintf("%s (%s)", what, text), Code: CodeNotExact, Hint: hint}
}
