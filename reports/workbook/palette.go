package workbook

// Palette is the book's colours, as six hexadecimal digits, for what is written beside it.
type Palette struct {
	Ink, Quiet, Warning, Link, Heading, Rule, Hairline string
	Fills, Lines                                       []string // of the series, in their order
}

// Colours returns the palette of every book.
func Colours() Palette {
	p := Palette{inkColour, quietColour, warningColour, linkColour, headingColour, ruleColour, hairlineColour, nil, nil}
	for _, l := range looks() {
		p.Fills, p.Lines = append(p.Fills, l.fill), append(p.Lines, l.line)
	}
	return p
}
