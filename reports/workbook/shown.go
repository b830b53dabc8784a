package workbook

import (
	"fmt"
	"math/big"
	"strings"
	"time"
)

// Shown is a cell as a spreadsheet program shows it in a column of the format: rounded half
// away from zero, with marks between thousands where the format has them. A blank cell is "".
// An error says that the format doesn't exist or can't hold the cell.
func Shown(format string, cell any) (string, error) {
	f, err := formatNamed(format)
	if err != nil {
		return "", err
	}
	settled, err := f.settle(cell)
	if err != nil {
		return "", err
	}
	return f.shown(settled)
}

// shown is a settled cell as text.
func (f format) shown(settled any) (string, error) {
	switch value := settled.(type) {
	case string:
		return value, nil
	case Number:
		return f.shownNumber(value)
	case time.Time:
		return value.Format(f.layout), nil
	}
	return "", nil
}

// shownNumber applies the format's pattern to a number.
func (f format) shownNumber(n Number) (string, error) {
	exact, ok := new(big.Rat).SetString(string(n))
	if !ok {
		return "", fmt.Errorf("%q: %w", string(n), errNotNumber)
	}
	if f.percent {
		exact.Mul(exact, big.NewRat(100, 1))
	}
	text := exact.FloatString(f.decimals) // halves away from zero
	digits := strings.TrimPrefix(text, "-")
	whole, fraction, hasPoint := strings.Cut(digits, ".")
	var shown strings.Builder
	if n.isNegative() { // though it be shown as -0.0, as such programs do
		shown.WriteByte('-')
	}
	for i, digit := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 && strings.Contains(f.pattern, ",") {
			shown.WriteByte(',')
		}
		shown.WriteRune(digit)
	}
	if hasPoint {
		shown.WriteString("." + fraction)
	}
	if f.percent {
		shown.WriteByte('%')
	}
	return shown.String(), nil
}
