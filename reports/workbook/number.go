package workbook

import (
	"errors"
	"math/big"
	"strconv"
	"strings"
)

// Number is an exact decimal as text: an optional minus, digits, and optionally a point
// with digits after it, as "-1234.50". Sums of Numbers are exact. A spreadsheet cell holds
// 15 significant digits; a longer Number is rounded to that in its cell, never in a sum.
type Number string

var errNotNumber = errors.New("not a decimal number")

// Sum adds Numbers exactly. The result has as many decimals as the term with the most.
func Sum(terms ...Number) (Number, error) {
	var total exactSum
	for _, term := range terms {
		if err := total.add(term); err != nil {
			return "", err
		}
	}
	return total.number(), nil
}

// check says whether the text is a Number.
func (n Number) check() error {
	text := strings.TrimPrefix(string(n), "-")
	whole, fraction, hasPoint := strings.Cut(text, ".")
	if !isDigits(whole) || hasPoint && !isDigits(fraction) {
		return errNotNumber
	}
	return nil
}

func isDigits(text string) bool {
	for _, r := range text {
		if r < '0' || r > '9' {
			return false
		}
	}
	return text != ""
}

// isZero is for a Number that has passed check.
func (n Number) isZero() bool {
	return strings.Trim(string(n), "-0.") == ""
}

// isNegative is for a Number that has passed check. Minus zero is not negative.
func (n Number) isNegative() bool {
	return strings.HasPrefix(string(n), "-") && !n.isZero()
}

// cellValue is the nearest value a cell can hold.
func (n Number) cellValue() (float64, error) {
	value, err := strconv.ParseFloat(string(n), 64)
	if err != nil {
		return 0, err
	}
	return fifteenDigits(value)
}

// fifteenDigits rounds to what spreadsheet programs keep of a number. Left alone, the
// xlsx library would cut the digits off instead.
func fifteenDigits(value float64) (float64, error) {
	return strconv.ParseFloat(strconv.FormatFloat(value, 'e', 14, 64), 64)
}

// exactSum adds decimals without rounding. The zero value is 0.
type exactSum struct {
	unscaled big.Int // the sum times ten to the power of decimals
	decimals int
}

func (s *exactSum) add(n Number) error {
	if err := n.check(); err != nil {
		return err
	}
	digits, decimals := string(n), 0
	if whole, fraction, hasPoint := strings.Cut(digits, "."); hasPoint {
		digits, decimals = whole+fraction, len(fraction)
	}
	var term big.Int
	if small, err := strconv.ParseInt(digits, 10, 64); err == nil {
		term.SetInt64(small)
	} else if _, ok := term.SetString(digits, 10); !ok {
		return errNotNumber
	}
	s.accumulate(&term, decimals)
	return nil
}

// addSum adds another sum, or takes it off.
func (s *exactSum) addSum(other *exactSum, negative bool) {
	term := new(big.Int).Set(&other.unscaled)
	if negative {
		term.Neg(term)
	}
	s.accumulate(term, other.decimals)
}

func (s *exactSum) accumulate(term *big.Int, decimals int) {
	switch {
	case decimals > s.decimals:
		s.unscaled.Mul(&s.unscaled, powerOfTen(decimals-s.decimals))
		s.decimals = decimals
	case decimals < s.decimals:
		term.Mul(term, powerOfTen(s.decimals-decimals))
	}
	s.unscaled.Add(&s.unscaled, term)
}

func powerOfTen(exponent int) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(exponent)), nil)
}

func (s *exactSum) isZero() bool { return s.unscaled.Sign() == 0 }

func (s *exactSum) rat() *big.Rat {
	return new(big.Rat).SetFrac(&s.unscaled, powerOfTen(s.decimals))
}

func (s *exactSum) number() Number {
	return Number(s.rat().FloatString(s.decimals))
}
