package page

import (
	"fmt"
	"strings"

	"trusstally/reports/workbook"
)

// scheme is the colours of one way to look at the page, by the names of their properties.
type scheme []colour

type colour struct{ name, digits string }

// light has the colours of the workbooks, but for rules, which stand on more grounds here. Text
// has a contrast of at least 4.5 to 1 on each ground it stands on, lines and outlines one of 3
// to 1 (WCAG 2.2, 1.4.3 and 1.4.11); fills differ in lightness and are outlined in ink, so
// that no figure hangs on a hue.
func light() scheme {
	books := workbook.Colours()
	return append(scheme{
		{"ground", "FFFFFF"}, {"panel", "F6F8FA"}, {"heading", books.Heading},
		{"ink", books.Ink}, {"quiet", books.Quiet}, {"warning", books.Warning}, {"link", books.Link},
		{"rule", "738291"}, {"hairline", books.Hairline},
		{"alarm", books.Warning}, {"on-alarm", "FFFFFF"},
		{"line1", books.Lines[0]}, {"line2", books.Lines[1]},
	}, fills()...)
}

// fills are the books' and what is written on them, the same in both schemes: a chart is the
// same chart.
func fills() scheme {
	on := []string{"FFFFFF", "1F2933", "1F2933", "000000", "1F2933", "FFFFFF"}
	var entries scheme
	for i, fill := range workbook.Colours().Fills {
		entries = append(entries, colour{fmt.Sprintf("fill%d", i+1), fill}, colour{fmt.Sprintf("on%d", i+1), on[i]})
	}
	return entries
}

// dark keeps the fills; what stands on the ground turns.
func dark() scheme {
	return append(scheme{
		{"ground", "11181F"}, {"panel", "1A232C"}, {"heading", "263340"},
		{"ink", "F0F4F7"}, {"quiet", "C2CCD6"}, {"warning", "FFB4AB"}, {"link", "A9CDF5"},
		{"rule", "8A99A8"}, {"hairline", "3A4754"},
		{"alarm", "FFB4AB"}, {"on-alarm", "2B0A08"},
		{"line1", "B9D3E6"}, {"line2", "E0A04A"},
	}, fills()...)
}

// properties is the scheme as custom properties of CSS.
func (s scheme) properties() string {
	var css strings.Builder
	for _, entry := range s {
		fmt.Fprintf(&css, "--%s:#%s;", entry.name, entry.digits)
	}
	return css.String()
}

// styles is the whole style sheet: light, dark where the reader asks for it, and light again
// in print.
func styles() string {
	return ":root{" + light().properties() + "color-scheme:light}\n" +
		"@media screen and (prefers-color-scheme:dark){:root{" + dark().properties() + "color-scheme:dark}}\n" + styleSheet
}
