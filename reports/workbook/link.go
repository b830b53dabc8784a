package workbook

import (
	"slices"
	"strings"
)

// addLinks makes each cell of a linked column lead to its row of the other sheet.
func (w *sheetWriter) addLinks() error {
	if !slices.ContainsFunc(w.columns, func(c column) bool { return c.Link != nil }) {
		return nil
	}
	return w.rows.each(len(w.columns), mostLinks, func(index int, row []any) error {
		for i, c := range w.columns {
			place := w.linkPlace(c, row[i])
			if place == "" {
				continue
			}
			if err := w.file.SetCellHyperLink(w.Name, cellName(i, w.layout.firstRow+index), place, "Location"); err != nil {
				return err
			}
		}
		return nil
	})
}

// linkPlace is the cell of another sheet that a cell leads to, or "".
func (w *sheetWriter) linkPlace(c column, value any) string {
	if c.Link == nil {
		return ""
	}
	if c.Link.Sheet == "" {
		return w.namedPlace(value)
	}
	at := slices.IndexFunc(w.plans, func(p *plan) bool { return p.Name == c.Link.Sheet })
	target := w.plans[at]
	index, ok := target.targets[c.Link.Column][linkText(value)]
	if !ok {
		return ""
	}
	return quotedSheet(c.Link.Sheet) + "!" + cellName(0, target.layout.firstRow+index)
}

// namedPlace is the place that a cell names itself: a later sheet of the book, or, after a
// colon, the first row of it that holds a text.
func (w *sheetWriter) namedPlace(value any) string {
	sheet, text, _ := namedTarget(value)
	at := slices.IndexFunc(w.plans, func(p *plan) bool { return p.Name == sheet })
	if at < 0 || w.plans[at] == w.plan {
		return ""
	}
	row := 1
	if index := w.plans[at].wanted[text]; text != "" && index > 0 {
		row = w.plans[at].layout.firstRow + index - 1
	}
	return quotedSheet(sheet) + "!" + cellName(0, row)
}

// namedTarget splits "sheet" or "sheet: text".
func namedTarget(value any) (sheet, text string, ok bool) {
	words, ok := value.(string)
	sheet, text, _ = strings.Cut(words, ": ")
	return sheet, text, ok
}

// markWanted notes, on the sheets after it, the texts that the cells of a walked sheet lead
// to: takeWanted finds their rows.
func markWanted(plans []*plan, walked int) error {
	p := plans[walked]
	for i, c := range p.columns {
		if c.Link == nil || c.Link.Sheet != "" {
			continue
		}
		err := p.rows.each(len(p.columns), mostLinks, func(_ int, row []any) error {
			sheet, text, ok := namedTarget(row[i])
			for _, later := range plans[walked+1:] {
				if ok && text != "" && later.Name == sheet {
					if later.wanted == nil {
						later.wanted = map[string]int{}
					}
					later.wanted[text] = 0
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// takeWanted notes the row, from 1, of each wanted text where it stands first.
func (p *plan) takeWanted(row []any) {
	if len(p.wanted) == 0 {
		return
	}
	for _, cell := range row {
		text, ok := cell.(string)
		if place, wanted := p.wanted[text]; ok && wanted && place == 0 {
			p.wanted[text] = p.rows.rows + 1
		}
	}
}
