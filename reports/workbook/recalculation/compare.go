package recalculation

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Difference is a formula whose stored result is not what the other program works out.
type Difference struct {
	Sheet, Cell, Formula string
	Stored, Recalculated string
}

func (d Difference) String() string {
	return fmt.Sprintf("%s!%s: %s is stored as %q, recalculated as %q", d.Sheet, d.Cell, d.Formula, d.Stored, d.Recalculated)
}

// sumTolerance is for the binary sums of the other program, relative to the figure.
const sumTolerance = 1e-11

// Compare holds each formula's stored result against the recalculated book. A sum has to
// agree to the last digits that a cell keeps. A division may differ by what rounding to so
// many decimals takes: queries round their ratios. It also returns how many formulas there
// were, so that a test can tell agreement from nothing to compare.
func Compare(book, recalculated []byte, ratioDecimals int) (differences []Difference, formulas int, failed error) {
	stored, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		return nil, 0, err
	}
	defer func() { failed = errors.Join(failed, stored.Close()) }()
	other, err := excelize.OpenReader(bytes.NewReader(recalculated))
	if err != nil {
		return nil, 0, err
	}
	defer func() { failed = errors.Join(failed, other.Close()) }()

	for _, sheet := range stored.GetSheetList() {
		rows, err := stored.GetRows(sheet, excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, 0, err
		}
		for rowIndex, row := range rows {
			for columnIndex := range row {
				cell, err := excelize.CoordinatesToCellName(columnIndex+1, rowIndex+1)
				if err != nil {
					return nil, 0, err
				}
				difference, isFormula, err := compareCell(stored, other, sheet, cell, ratioDecimals)
				if err != nil {
					return nil, 0, err
				}
				if isFormula {
					formulas++
				}
				if difference != nil {
					differences = append(differences, *difference)
				}
			}
		}
	}
	return differences, formulas, nil
}

func compareCell(stored, other *excelize.File, sheet, cell string, ratioDecimals int) (*Difference, bool, error) {
	formula, err := stored.GetCellFormula(sheet, cell)
	if err != nil || formula == "" {
		return nil, false, err
	}
	raw := excelize.Options{RawCellValue: true}
	before, err := stored.GetCellValue(sheet, cell, raw)
	if err != nil {
		return nil, true, err
	}
	after, err := other.GetCellValue(sheet, cell, raw)
	if err != nil {
		return nil, true, err
	}
	if agree(before, after, formula, ratioDecimals) {
		return nil, true, nil
	}
	return &Difference{Sheet: sheet, Cell: cell, Formula: formula, Stored: before, Recalculated: after}, true, nil
}

func agree(stored, recalculated, formula string, ratioDecimals int) bool {
	a, errA := strconv.ParseFloat(stored, 64)
	b, errB := strconv.ParseFloat(recalculated, 64)
	if errA != nil || errB != nil {
		return stored == recalculated
	}
	tolerance := sumTolerance * max(math.Abs(a), 1)
	if strings.Contains(formula, "/") {
		tolerance += 0.5 * math.Pow10(-ratioDecimals)
	}
	return math.Abs(a-b) <= tolerance
}
