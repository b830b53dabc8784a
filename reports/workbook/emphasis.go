package workbook

import (
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// addEmphasis sets the sheet's conditional formats: what the caller asks for, and a colour
// for negatives, which their sign marks already. They follow the cells when these change.
func (w *sheetWriter) addEmphasis() error {
	strong, err := w.styles.warning(true)
	if err != nil {
		return err
	}
	plain, err := w.styles.warning(false)
	if err != nil {
		return err
	}
	negative := excelize.ConditionalFormatOptions{Type: "cell", Criteria: "<", Value: "0"}
	for _, emphasis := range w.Emphasis {
		rule, index := negative, w.columnIndex(emphasis.Column)
		if emphasis.Kind == emphasisWord {
			rule.Criteria, rule.Value = "==", `"`+strings.ReplaceAll(emphasis.Word, `"`, `""`)+`"`
		}
		rule.Format = &strong
		if err := w.addRule(index, rule); err != nil {
			return err
		}
	}
	for i, c := range w.columns {
		if c.format.kind != kindNumber || w.isEmphasised(c.Name) {
			continue
		}
		rule := negative
		rule.Format = &plain
		if err := w.addRule(i, rule); err != nil {
			return err
		}
	}
	return nil
}

func (w *sheetWriter) isEmphasised(column string) bool {
	return slices.Contains(w.Emphasis, Emphasis{Column: column, Kind: emphasisNegative})
}

// addRule applies to a column's rows and to its total.
func (w *sheetWriter) addRule(index int, rule excelize.ConditionalFormatOptions) error {
	ranges := w.bodyRange(index)
	if w.layout.totalRow > 0 {
		ranges += " " + cellName(index, w.layout.totalRow)
	}
	return w.file.SetConditionalFormat(w.Name, ranges, []excelize.ConditionalFormatOptions{rule})
}
