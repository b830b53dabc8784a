package workbook

import "slices"

// addLinks makes each cell of a linked column lead to its row of the other sheet.
func (w *sheetWriter) addLinks() error {
	if !slices.ContainsFunc(w.columns, func(c column) bool { return c.Link != nil }) {
		return nil
	}
	return w.rows.each(len(w.columns), mostLinks, func(index int, row []any) error {
		for i, c := range w.columns {
			target := w.linkRow(c, row[i])
			if target == 0 {
				continue
			}
			place := quotedSheet(c.Link.Sheet) + "!" + cellName(0, target)
			if err := w.file.SetCellHyperLink(w.Name, cellName(i, w.layout.firstRow+index), place, "Location"); err != nil {
				return err
			}
		}
		return nil
	})
}

// linkRow is the row of the other sheet that a cell leads to, or 0.
func (w *sheetWriter) linkRow(c column, value any) int {
	if c.Link == nil {
		return 0
	}
	at := slices.IndexFunc(w.plans, func(p *plan) bool { return p.Name == c.Link.Sheet })
	target := w.plans[at]
	index, ok := target.targets[c.Link.Column][linkText(value)]
	if !ok {
		return 0
	}
	return target.layout.firstRow + index
}
