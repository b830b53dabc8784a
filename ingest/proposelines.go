package ingest

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// asideWords are how lines begin that are no rows. The longer comes first: a line is named
// by the first that fits.
func asideWords() []struct {
	word string
	kind lineKind
} {
	return []struct {
		word string
		kind lineKind
	}{
		{"grand total", footerLine}, {"report total", footerLine}, {"subtotal", subtotalLine}, {"sub-total", subtotalLine}, {"sub total", subtotalLine}, {"total", footerLine}, {"sum", footerLine},
		{"page ", remarkLine}, {"printed", remarkLine}, {"end of report", remarkLine}, {"report ", remarkLine},
	}
}

// asideLines finds lines that are no rows and takes them out of the rows. It returns those
// that may carry totals.
func (p *proposal) asideLines() []sampled {
	kept := p.rows[:0:0]
	found := map[string][]sampled{}
	kinds := map[string]lineKind{}
	for i, row := range p.rows {
		word := ""
		first := row.cells[0]
		for _, aside := range asideWords() {
			if strings.HasPrefix(strings.ToLower(first), aside.word) && blankBeyond(row.cells, len(p.names)) {
				word, kinds[first[:len(aside.word)]] = first[:len(aside.word)], aside.kind
				break
			}
		}
		if word == "" {
			kept = append(kept, p.rows[i])
			continue
		}
		found[word] = append(found[word], row)
	}
	var words []string
	for word := range found {
		words = append(words, word)
	}
	slices.Sort(words)
	p.rows = kept
	for _, kind := range []lineKind{footerLine, subtotalLine, remarkLine} {
		var patterns, seen []string
		for _, word := range words {
			if kinds[word] == kind {
				patterns = append(patterns, tomlText(word+"*"))
				seen = append(seen, fmt.Sprintf("%s such as line %d", counted(len(found[word]), "line"), found[word][0].line))
			}
		}
		if len(patterns) == 0 {
			continue
		}
		key := map[lineKind]string{footerLine: "footer", subtotalLine: "subtotal", remarkLine: "remarks"}[kind]
		p.say("", key, "["+strings.Join(patterns, ", ")+"]", strings.Join(seen, ", "))
	}
	var footers []sampled
	for _, word := range words {
		if kinds[word] == footerLine {
			footers = append(footers, found[word]...)
		}
	}
	return footers
}

// blankBeyond says whether a line is one of few cells: half of its columns are blank.
func blankBeyond(cells []string, width int) bool {
	filled := 0
	for _, cell := range cells {
		if cell != "" {
			filled++
		}
	}
	return filled*2 <= width
}

// provenTotals names the columns whose total a footer gives and the rows add up to.
func (p *proposal) provenTotals(footers []sampled) {
	marks := p.marks()
	var totals []string
	for i, c := range p.feed.Columns {
		cell := p.cellOf[i]
		if cell < 1 || !isNumber(c) {
			continue
		}
		for _, footer := range footers {
			if cell >= len(footer.cells) || footer.cells[cell] == "" {
				continue
			}
			said, ok := marks.read(footer.cells[cell])
			sum := new(big.Rat)
			for _, value := range p.values(cell) {
				if plain, read := marks.read(value); read {
					sum.Add(sum, rational(plain))
				} else {
					ok = false
				}
			}
			switch {
			case ok && sum.Cmp(rational(said)) == 0:
				totals = append(totals, tomlText(c.Name))
			case !c.Wage:
				p.doubts = append(p.doubts, fmt.Sprintf("line %d gives %s for %s, and the rows do not add up to it", footer.line, plainValue(footer.cells[cell]), c.Name))
			}
		}
	}
	if len(totals) > 0 && p.whole {
		p.say("", "totals", "["+strings.Join(totals, ", ")+"]", "the rows add up to it")
	}
}
