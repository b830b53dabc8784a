package page

import (
	"fmt"
	"strings"
)

// scheme is the colours of one way to look at the page, by the names of their properties.
type scheme []struct{ name, colour string }

// light has the colours of the workbooks. Text has a contrast of at least 7 to 1 on each
// ground it stands on, lines and outlines one of 3 to 1 (WCAG 2.2, 1.4.6 and 1.4.11); fills
// differ in lightness and are outlined in ink, so that no figure hangs on a hue.
func light() scheme {
	return scheme{
		{"ground", "FFFFFF"}, {"panel", "F6F8FA"}, {"heading", "E6ECF2"},
		{"ink", "1F2933"}, {"quiet", "4A5560"}, {"warning", "8B1A1A"}, {"link", "1B4F8A"},
		{"rule", "738291"}, {"hairline", "D5DBE1"},
		{"alarm", "8B1A1A"}, {"on-alarm", "FFFFFF"},
		{"fill1", "1F3A5F"}, {"fill2", "E0A04A"}, {"fill3", "B9D3E6"}, {"fill4", "5E7F92"}, {"fill5", "F3E6C0"}, {"fill6", "7C3F31"},
		{"on1", "FFFFFF"}, {"on2", "1F2933"}, {"on3", "1F2933"}, {"on4", "000000"}, {"on5", "1F2933"}, {"on6", "FFFFFF"},
		{"line1", "1F3A5F"}, {"line2", "B0670F"},
	}
}

// dark keeps the fills, so that a chart is the same chart; what stands on the ground turns.
func dark() scheme {
	return scheme{
		{"ground", "11181F"}, {"panel", "1A232C"}, {"heading", "263340"},
		{"ink", "F0F4F7"}, {"quiet", "C2CCD6"}, {"warning", "FFB4AB"}, {"link", "A9CDF5"},
		{"rule", "8A99A8"}, {"hairline", "3A4754"},
		{"alarm", "FFB4AB"}, {"on-alarm", "2B0A08"},
		{"fill1", "1F3A5F"}, {"fill2", "E0A04A"}, {"fill3", "B9D3E6"}, {"fill4", "5E7F92"}, {"fill5", "F3E6C0"}, {"fill6", "7C3F31"},
		{"on1", "FFFFFF"}, {"on2", "1F2933"}, {"on3", "1F2933"}, {"on4", "000000"}, {"on5", "1F2933"}, {"on6", "FFFFFF"},
		{"line1", "B9D3E6"}, {"line2", "E0A04A"},
	}
}

// properties is the scheme as custom properties of CSS.
func (s scheme) properties() string {
	var css strings.Builder
	for _, entry := range s {
		fmt.Fprintf(&css, "--%s:#%s;", entry.name, entry.colour)
	}
	return css.String()
}

// styles is the whole style sheet: light, dark where the reader asks for it, and light again
// in print.
func styles() string {
	return ":root{" + light().properties() + "color-scheme:light}\n" +
		"@media screen and (prefers-color-scheme:dark){:root{" + dark().properties() + "color-scheme:dark}}\n" + styleSheet
}
