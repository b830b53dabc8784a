package ingest

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// numbers finds the marks of numbers, and hours that are written 7:30.
func (p *proposal) numbers() {
	var texts []string
	var clocks []string
	for i, c := range p.feed.Columns {
		if p.cellOf[i] < 0 || !isNumber(c) {
			continue
		}
		values := p.values(p.cellOf[i])
		hours := 0
		for _, value := range values {
			if _, ok := clockHours(value); ok {
				hours++
			}
		}
		if hours > 0 && hours == len(values) && slices.Contains(p.feed.Units(c), unitClock) {
			clocks = append(clocks, c.Name)
			continue
		}
		texts = append(texts, values...)
	}
	defer func() {
		for _, name := range clocks {
			p.say("units", name, tomlText(unitClock), "hours and minutes such as 7:30")
		}
		p.prices()
	}()
	if count(texts, canonicalMarks) == len(texts) {
		for _, text := range texts {
			if strings.Contains(text, ",") && !strings.Contains(text, ".") && (p.sample.delimiter == ';' || p.sample.delimiter == '\t') {
				p.doubts = append(p.doubts, `numbers such as 1,234 are read as thousands; where the comma stands before decimals, say decimal = "," and thousands = "."`)
				break
			}
		}
		return
	}
	currency := ""
	for _, sign := range []string{"$", "USD", "US$"} {
		if slices.ContainsFunc(texts, func(text string) bool { return strings.Contains(text, sign) }) {
			currency = sign
		}
	}
	best, bestMarks := count(texts, newNumberMarks(".", ",", currency)), newNumberMarks(".", ",", currency)
	for _, marks := range []string{",.", ", ", ",'", ". ", ".'"} {
		m := newNumberMarks(marks[:1], marks[1:], currency)
		if n := count(texts, m); n > best {
			best, bestMarks = n, m
		}
	}
	why := fmt.Sprintf("%d of %d numbers can be read then", best, len(texts))
	if bestMarks.decimal != "." {
		p.say("", "decimal", tomlText(bestMarks.decimal), why)
	}
	if bestMarks.thousands != "," {
		p.say("", "thousands", tomlText(bestMarks.thousands), "")
	}
	if currency != "" {
		p.say("", "currency", tomlText(currency), why)
	}
}

// count counts the numbers that can be read.
func count(texts []string, marks numberMarks) int {
	n := 0
	for _, text := range texts {
		if _, ok := marks.read(text); ok {
			n++
		}
	}
	return n
}

// prices doubts prices for a thousand board feet that are none by their size.
func (p *proposal) prices() {
	i := columnNumber(p.feed, "usd_per_mbf")
	if i < 0 || p.cellOf[i] < 0 {
		return
	}
	low := 0
	marks := p.marks()
	values := p.values(p.cellOf[i])
	for _, value := range values {
		if plain, ok := marks.read(value); ok && rational(plain).Cmp(big.NewRat(100, 1)) < 0 {
			low++
		}
	}
	if low*2 > len(values) {
		p.doubt("units", "usd_per_mbf", tomlText(unitBoard), fmt.Sprintf("%d of %d prices are below 100: of a board, a foot or a board foot (\"board\", \"foot\", \"bf\")?", low, len(values)))
	}
}

// marks are those that were found.
func (p *proposal) marks() numberMarks {
	decimal, thousands, currency := ".", ",", ""
	for _, s := range p.said {
		value := strings.Trim(s.value, `"`)
		switch s.key {
		case "decimal":
			decimal = value
		case "thousands":
			thousands = value
		case "currency":
			currency = value
		}
	}
	return newNumberMarks(decimal, thousands, currency)
}
