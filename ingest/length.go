package ingest

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"trusstally/ingest/problem"
)

// Sixteenths of an inch in the larger units of length.
const (
	sixteenthsPerInch = 16
	sixteenthsPerFoot = 12 * sixteenthsPerInch
)

// longestFeet bounds what is taken for a length; nothing in a truss plant is longer.
const longestFeet = 1000

const lengthHint = `write feet-inches-sixteenths (12-06-08), decimal feet (12.5) or 12'6 1/2"`

// markedInches is a pattern of 6", 6 1/2" or 1/2".
const markedInches = `(?:([0-9]{1,4})(?:[ -]([0-9]{1,2})/([0-9]{1,2}))?|([0-9]{1,2})/([0-9]{1,2}))"`

var (
	dashedLength  = regexp.MustCompile(`^([0-9]{1,4})-([0-9]{1,2})-([0-9]{1,2})$`)
	decimalLength = regexp.MustCompile(`^([0-9]{1,4})(?:\.([0-9]{1,9}))?$`)
	feetAndInches = regexp.MustCompile(`^([0-9]{1,4})'(?: ?-? ?` + markedInches + `)?$`)
	inchesAlone   = regexp.MustCompile(`^()` + markedInches + `$`)
	lengthMarks   = strings.NewReplacer("′", "'", "’", "'", "″", `"`, "”", `"`, "''", `"`)
)

// ParseLength reads a length and returns it in whole sixteenths of an inch. It takes
// feet-inches-sixteenths (12-06-08 is 12 ft 6 1/2 in), decimal feet that are a whole
// number of sixteenths (12.5), and feet and inches with their marks (12'6 1/2", 12', 6").
// Inches run from 0 to 11, sixteenths from 0 to 15. Anything else is a *problem.Problem
// of code bad-length, without a place.
func ParseLength(text string) (int64, error) {
	plain := lengthMarks.Replace(text)
	if match := dashedLength.FindStringSubmatch(plain); match != nil {
		return lengthOf(text, number(match[1]), number(match[2]), number(match[3]))
	}
	if match := decimalLength.FindStringSubmatch(plain); match != nil {
		return decimalFeet(text, match[1], match[2])
	}
	match := feetAndInches.FindStringSubmatch(plain)
	if match == nil {
		match = inchesAlone.FindStringSubmatch(plain)
	}
	if match != nil {
		top, bottom := match[3]+match[5], match[4]+match[6]
		sixteenths, ok := fraction(top, bottom)
		if !ok {
			return 0, badLength(text, "the fraction of an inch must be below 1 and in halves, quarters, eighths or sixteenths")
		}
		return lengthOf(text, number(match[1]), number(match[2]), sixteenths)
	}
	return 0, badLength(text, "not a length")
}

// FormatLength writes whole sixteenths of an inch as feet-inches-sixteenths.
func FormatLength(sixteenths int64) string {
	sign := ""
	if sixteenths < 0 {
		sign, sixteenths = "-", -sixteenths
	}
	return fmt.Sprintf("%s%d-%02d-%02d", sign, sixteenths/sixteenthsPerFoot, sixteenths%sixteenthsPerFoot/sixteenthsPerInch, sixteenths%sixteenthsPerInch)
}

func lengthOf(text string, feet, inches, sixteenths int64) (int64, error) {
	switch {
	case inches > 11:
		return 0, badLength(text, "inches run from 0 to 11")
	case sixteenths > 15:
		return 0, badLength(text, "sixteenths of an inch run from 0 to 15")
	case feet > longestFeet:
		return 0, badLength(text, fmt.Sprintf("longer than %d feet", longestFeet))
	}
	return feet*sixteenthsPerFoot + inches*sixteenthsPerInch + sixteenths, nil
}

// decimalFeet takes only what is a whole number of sixteenths: 12.33 ft is none, and
// rounding it would make up a length that nobody measured.
func decimalFeet(text, whole, decimals string) (int64, error) {
	scale := int64(1)
	for range decimals {
		scale *= 10
	}
	product := number(decimals) * sixteenthsPerFoot
	if product%scale != 0 {
		return 0, badLength(text, "not a whole number of sixteenths of an inch")
	}
	feet := number(whole)
	if feet > longestFeet {
		return 0, badLength(text, fmt.Sprintf("longer than %d feet", longestFeet))
	}
	return feet*sixteenthsPerFoot + product/scale, nil
}

// fraction turns top/bottom of an inch into sixteenths; blank is none.
func fraction(top, bottom string) (int64, bool) {
	if top == "" {
		return 0, true
	}
	over, under := number(top), number(bottom)
	switch under {
	case 2, 4, 8, 16:
		return over * sixteenthsPerInch / under, over > 0 && over < under
	default:
		return 0, false
	}
}

// number reads digits that a pattern has already checked; blank is 0.
func number(digits string) int64 {
	n, _ := strconv.ParseInt(digits, 10, 64)
	return n
}

func badLength(text, what string) *problem.Problem {
	return &problem.Problem{What: fmt.Sprintf("%s (%s)", what, text), Code: CodeBadLength, Hint: lengthHint}
}
