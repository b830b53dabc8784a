package workbook

import "github.com/xuri/excelize/v2"

// Colours. Every text colour has a contrast of at least 7 to 1 on its ground.
const (
	inkColour      = "1F2933" // titles and headings
	quietColour    = "4A5560" // notes
	warningColour  = "8B1A1A" // always together with bold or a minus
	linkColour     = "1B4F8A"
	headingColour  = "E6ECF2" // ground of the heading row
	ruleColour     = "8A99A8" // under heading and total
	hairlineColour = "D5DBE1" // between rows
)

const (
	bodyFont  = "Arial" // on every desktop, with free fonts of the same widths
	bodySize  = 10.0
	titleSize = 14.0
)

// role is the part that a cell plays.
type role int

const (
	roleTitle role = iota
	roleNote
	roleNoteContinued
	roleHeading
	roleBody
	roleWord // text in a column of numbers or times
	roleLink
	roleTotal
	roleLabelledTotal // the label "Total" stands in the cell of the figure
	roleCount
	roleLabelledCount
	roleLabel
	roleMessage
)

type styleKey struct {
	role   role
	format string // name of the column's format; "" where it does not matter
}

// styleSheet makes the styles of one file as they are first needed.
type styleSheet struct {
	file        *excelize.File
	ids         map[styleKey]int
	conditional map[bool]int // by bold
}

func newStyleSheet(file *excelize.File) *styleSheet {
	return &styleSheet{file: file, ids: map[styleKey]int{}, conditional: map[bool]int{}}
}

// of is the style of a role in a column of this format.
func (s *styleSheet) of(r role, f format) (int, error) {
	key := styleKey{r, f.name}
	if id, ok := s.ids[key]; ok {
		return id, nil
	}
	id, err := s.file.NewStyle(styleOf(r, f))
	if err != nil {
		return 0, err
	}
	s.ids[key] = id
	return id, nil
}

// warning is the style of a condition that holds.
func (s *styleSheet) warning(bold bool) (int, error) {
	if id, ok := s.conditional[bold]; ok {
		return id, nil
	}
	id, err := s.file.NewConditionalStyle(&excelize.Style{Font: &excelize.Font{Bold: bold, Color: warningColour}})
	if err != nil {
		return 0, err
	}
	s.conditional[bold] = id
	return id, nil
}

func styleOf(r role, f format) *excelize.Style {
	style := &excelize.Style{
		Font:      &excelize.Font{Family: bodyFont, Size: bodySize},
		Alignment: &excelize.Alignment{Vertical: "top", Horizontal: horizontal(f)},
	}
	code := f.code("")
	switch r {
	case roleTitle:
		style.Font.Size, style.Font.Bold, style.Font.Color = titleSize, true, inkColour
		style.Alignment.Vertical = "center"
		code = textCode
	case roleNote, roleNoteContinued:
		style.Font.Color = quietColour
		if r == roleNoteContinued {
			style.Alignment.Indent = 1
		}
		code = textCode
	case roleHeading:
		style.Font.Bold, style.Font.Color = true, inkColour
		style.Alignment.WrapText = true
		style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{headingColour}}
		style.Border = []excelize.Border{{Type: "bottom", Style: 1, Color: ruleColour}}
		code = textCode
	case roleBody, roleWord, roleLink:
		style.Alignment.WrapText = f.kind == kindText
		style.Border = []excelize.Border{{Type: "bottom", Style: 1, Color: hairlineColour}}
		if r == roleLink {
			style.Font.Color, style.Font.Underline = linkColour, "single"
		}
		if r == roleWord {
			code = textCode
		}
	case roleMessage:
		style.Font.Color, style.Font.Italic = quietColour, true
		style.Alignment.Horizontal = "left"
		code = textCode
	default:
		styleTotal(style, r)
		code = totalCode(r, f)
	}
	if r != roleTitle && r != roleNote && r != roleNoteContinued && style.Alignment.Horizontal == "left" {
		style.Alignment.Indent = 1 // keeps words off the figures of the column before them
	}
	style.CustomNumFmt = &code
	return style
}

func styleTotal(style *excelize.Style, r role) {
	style.Font.Bold, style.Font.Color = true, inkColour
	style.Border = []excelize.Border{{Type: "top", Style: 1, Color: ruleColour}}
	switch r {
	case roleLabel, roleLabelledCount, roleLabelledTotal:
		style.Alignment.Horizontal = "left"
	case roleCount:
		style.Alignment.Horizontal = "right"
	}
}

const totalLabel = "Total"

// totalCode is the number format of a cell in the row of totals. The label of a cell that
// has a figure is part of its format, so the figure stays a number.
func totalCode(r role, f format) string {
	const count = "#,##0"
	switch r {
	case roleCount:
		return count
	case roleLabelledCount:
		return `"` + totalLabel + ` "` + count
	case roleLabelledTotal:
		return f.code(totalLabel)
	case roleLabel:
		return textCode
	}
	return f.code("")
}

func horizontal(f format) string {
	if f.kind == kindNumber {
		return "right"
	}
	return "left"
}
