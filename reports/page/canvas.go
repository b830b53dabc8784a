package page

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// Units of every chart: a phone shows one about as large as a CSS pixel, wider screens more
// than one chart in a row, so that lettering stays near the size of the text around it.
const (
	canvasWidth = 400.0
	margin      = 2.0  // outlines at the edge are whole
	letterLine  = 17.0 // from one line of lettering to the next
)

// canvas collects the elements of one chart.
type canvas struct {
	id      string // of the chart within the page
	body    strings.Builder
	height  float64
	hatches bool // some area is hatched
}

// definitions is the hatching, where the drawing has any.
func (c *canvas) definitions() string {
	if !c.hatches {
		return ""
	}
	return fmt.Sprintf(`<defs><pattern id="%s-hatch" width="6" height="6" patternUnits="userSpaceOnUse"><path class="hatch" d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5"/></pattern></defs>`, c.id)
}

// drawing is the figure's chart as an inline SVG with title and description, and its legend.
func drawing(f Figure, id string) string {
	c := canvas{id: id}
	f.Chart.draw(&c)
	var out strings.Builder
	fmt.Fprintf(&out, `<svg role="img" aria-labelledby="%s-title %s-description" viewBox="0 0 %s %s"><title id="%s-title">%s</title><desc id="%s-description">%s</desc>`,
		id, id, coordinate(canvasWidth), coordinate(c.height), id, html.EscapeString(f.Title.String()), id, html.EscapeString(f.Description))
	out.WriteString(c.definitions())
	out.WriteString(c.body.String())
	out.WriteString("</svg>")
	if entries := f.Chart.legend(); len(entries) > 0 {
		out.WriteString(`<ul class="legend">`)
		for i, entry := range entries {
			key := canvas{id: fmt.Sprintf("%s-key%d", id, i+1)}
			entry.draw(&key)
			out.WriteString(`<li><svg aria-hidden="true" viewBox="0 0 28 18">`)
			out.WriteString(key.definitions() + key.body.String() + `</svg>` + html.EscapeString(entry.words) + `</li>`)
		}
		out.WriteString(`</ul>`)
	}
	return out.String()
}

// legendEntry is a sample of what a chart draws, 28 by 18, and what it stands for.
type legendEntry struct {
	words string
	draw  func(c *canvas)
}

func (c *canvas) text(x, y float64, anchor, class, words string) {
	fmt.Fprintf(&c.body, `<text x="%s" y="%s" text-anchor="%s" class="%s">%s</text>`, coordinate(x), coordinate(y), anchor, class, html.EscapeString(words))
}

// figure writes pieces in one line; what is a cell says which.
func (c *canvas) figure(x, y float64, anchor, class string, words Words) {
	fmt.Fprintf(&c.body, `<text x="%s" y="%s" text-anchor="%s" class="%s">`, coordinate(x), coordinate(y), anchor, class)
	for _, piece := range words {
		text := html.EscapeString(piece.Text)
		if piece.Place.Sheet != "" {
			text = fmt.Sprintf(`<tspan data-book="%s" data-sheet="%s" data-cell="%s">%s</tspan>`,
				html.EscapeString(piece.Place.Book), html.EscapeString(piece.Place.Sheet), html.EscapeString(piece.Place.Cell), text)
		}
		c.body.WriteString(text)
	}
	c.body.WriteString("</text>")
}

func (c *canvas) rectangle(x, y, width, height float64, class string) {
	fmt.Fprintf(&c.body, `<rect x="%s" y="%s" width="%s" height="%s" class="%s"/>`, coordinate(x), coordinate(y), coordinate(width), coordinate(height), class)
}

// hatched lays hatching over a rectangle, for what hue alone must not tell.
func (c *canvas) hatched(x, y, width, height float64) {
	c.hatches = true
	fmt.Fprintf(&c.body, `<rect x="%s" y="%s" width="%s" height="%s" fill="url(#%s-hatch)"/>`, coordinate(x), coordinate(y), coordinate(width), coordinate(height), c.id)
}

func (c *canvas) line(x1, y1, x2, y2 float64, class string) {
	fmt.Fprintf(&c.body, `<line x1="%s" y1="%s" x2="%s" y2="%s" class="%s"/>`, coordinate(x1), coordinate(y1), coordinate(x2), coordinate(y2), class)
}

func (c *canvas) path(points [][2]float64, class string) {
	c.body.WriteString(`<polyline class="` + class + `" points="`)
	for i, point := range points {
		if i > 0 {
			c.body.WriteByte(' ')
		}
		c.body.WriteString(coordinate(point[0]) + "," + coordinate(point[1]))
	}
	c.body.WriteString(`"/>`)
}

func (c *canvas) circle(x, y, radius float64, class string) {
	fmt.Fprintf(&c.body, `<circle cx="%s" cy="%s" r="%s" class="%s"/>`, coordinate(x), coordinate(y), coordinate(radius), class)
}

// coordinate is a length with two decimals at most.
func coordinate(value float64) string {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		value = 0
	}
	text := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(value, 'f', 2, 64), "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

// scale leads from figures to places between two ends of the canvas.
type scale struct{ low, high, from, to float64 }

// scaleFromZero spans the figures and zero: bars begin at zero.
func scaleFromZero(figures []float64, from, to float64) scale {
	s := scale{from: from, to: to}
	for _, figure := range figures {
		s.low, s.high = min(s.low, figure), max(s.high, figure)
	}
	if s.low == s.high {
		s.high = 1
	}
	return s
}

func (s scale) at(figure float64) float64 {
	return s.from + (figure-s.low)/(s.high-s.low)*(s.to-s.from)
}

// width is about how wide the words are in the charts' lettering, never less than they are
// in the fonts of the style sheet.
func width(words string) float64 {
	total := 0.0
	for _, letter := range words {
		switch {
		case letter >= 0x1100:
			total += 14
		case letter >= 'A' && letter <= 'Z', letter == '%', letter > 0x7F, letter == 'm', letter == 'w', letter == '&', letter == '@':
			total += 10.5
		case letter == ' ', letter == '.', letter == ',', letter == ':', letter == ';', letter == 'i', letter == 'l', letter == 'j', letter == '\'', letter == '|':
			total += 3.9
		default:
			total += 7.4
		}
	}
	return total
}

// fitted cuts words to a width; the table of the figure has them whole.
func fitted(words string, room float64) string {
	if width(words) <= room {
		return words
	}
	letters := []rune(words)
	for len(letters) > 0 && width(string(letters))+width("…") > room {
		letters = letters[:len(letters)-1]
	}
	return strings.TrimRight(string(letters), " ") + "…"
}
