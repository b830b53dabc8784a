package ingest

import (
	"regexp"
	"strings"
)

// numberMarks are what a plant's files put into a number beside its digits.
type numberMarks struct {
	decimal   string // before the decimals
	thousands string // between thousands, "" for none
	currency  string // sign before or after, "" for none
	shape     *regexp.Regexp
}

// canonicalMarks are those of a file without rules.
var canonicalMarks = newNumberMarks(".", ",", "")

func newNumberMarks(decimal, thousands, currency string) numberMarks {
	m := numberMarks{decimal: decimal, thousands: thousands, currency: currency}
	whole := `[0-9]+`
	if thousands != "" {
		between := regexp.QuoteMeta(thousands)
		if thousands == " " {
			between = `[ \x{00A0}\x{2007}\x{202F}]`
		}
		whole = `(?:[0-9]+|[0-9]{1,3}(?:` + between + `[0-9]{3})+)`
	}
	m.shape = regexp.MustCompile(`^(` + whole + `)(?:` + regexp.QuoteMeta(decimal) + `([0-9]+))?$`)
	return m
}

// canonical says whether the marks are those of a file without rules.
func (m numberMarks) canonical() bool {
	return m.decimal == "." && m.thousands == "," && m.currency == ""
}

// read returns a number as digits, a point and a minus sign; ok is false for what is none.
// A negative number has a minus sign before or after it, or stands in parentheses.
func (m numberMarks) read(text string) (plain string, ok bool) {
	signs := 0
	cut := func(rest string, found bool) {
		if found {
			text = strings.Trim(rest, blanks)
			signs++
		}
	}
	if strings.HasPrefix(text, "(") && strings.HasSuffix(text, ")") && len(text) > 2 {
		cut(text[1:len(text)-1], true)
	}
	cut(strings.CutPrefix(text, "-"))
	if m.currency != "" {
		if rest, found := strings.CutPrefix(text, m.currency); found {
			text = strings.Trim(rest, blanks)
		} else if rest, found := strings.CutSuffix(text, m.currency); found {
			text = strings.Trim(rest, blanks)
		}
	}
	cut(strings.CutPrefix(text, "-"))
	cut(strings.CutSuffix(text, "-"))
	match := m.shape.FindStringSubmatch(text)
	if match == nil || signs > 1 {
		return "", false
	}
	for _, digit := range match[1] {
		if digit >= '0' && digit <= '9' {
			plain += string(digit)
		}
	}
	if match[2] != "" {
		plain += "." + match[2]
	}
	if signs == 1 {
		plain = "-" + plain
	}
	return plain, true
}

// write puts the declared decimal mark into a number that has a point.
func (m numberMarks) write(plain string) string {
	return strings.Replace(plain, ".", m.decimal, 1)
}

// say shows a number with the marks, for a hint.
func (m numberMarks) say() string {
	return m.currency + "1" + m.thousands + "234" + m.decimal + "56"
}
