package ingest

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// strayCell writes the cell of a row in which a stray quote stands as the file has it, every
// quote and blank of it, behind its number from 0: 2:"12" overhang. It is nil where there is
// none. A row of rejects/ must come back as bad as it was.
func strayCell(row record) []byte {
	if row.fault != CodeStrayQuote {
		return nil
	}
	return rawStray(row.faultCell, row.cells[row.faultCell], row.faultAt)
}

// unmarkedStray is strayCell of a row of a rejects file, without the mark of formulas.Mark.
func unmarkedStray(row record, stray []byte) []byte {
	if stray == nil {
		return nil
	}
	cell := row.cells[row.faultCell]
	trimmed := trimBlanks(cell)
	if len(unmarked(cell)) >= len(trimmed) {
		return stray
	}
	mark := len(cell) - len(bytes.TrimLeft(cell, blanks)) + 1
	return rawStray(row.faultCell, cell[mark:], row.faultAt-mark)
}

// rawStray puts the quotes back that reading took off: all of a quoted cell's up to the
// stray one, after which the cell is plain.
func rawStray(cell int, text []byte, at int) []byte {
	raw := fmt.Appendf(nil, `%d:"`, cell)
	raw = append(raw, bytes.ReplaceAll(text[:at], []byte(`"`), []byte(`""`))...)
	return append(raw, text[at:]...)
}

// cutStray takes what strayCell writes apart; the cell is -1 where there is none.
func cutStray(stray string) (cell int, raw string) {
	number, raw, found := strings.Cut(stray, ":")
	cell, err := strconv.Atoi(number)
	if !found || err != nil {
		return -1, ""
	}
	return cell, raw
}

// markedStray is a raw cell whose text would be a formula, with the mark of formulas.Mark.
func markedStray(raw string) string {
	return `"'` + strings.TrimLeft(strings.TrimPrefix(raw, `"`), blanks)
}
