package page

// Bars are one bar a row from zero, with the figure at the end of its line; where rows have
// a reference, a tick stands where the reference does.
type Bars struct {
	Unit      string
	Name      string // what the bars are
	Reference string // what the ticks are; "" for none
	Rows      []Bar
}

// Bar is one row. An unknown reference has no tick.
type Bar struct {
	Label     string
	Value     Value
	Reference Value
}

const (
	barHeight = 13.0
	barGap    = 9.0
)

func (b Bars) draw(c *canvas) {
	var figures []float64
	for _, row := range b.Rows {
		for _, value := range []Value{row.Value, row.Reference} {
			if value.Known {
				figures = append(figures, value.Number)
			}
		}
	}
	s := scaleFromZero(figures, margin+3, canvasWidth-margin-3)
	y := c.unit(b.Unit)
	for _, row := range b.Rows {
		figure := Say(row.Value.Cell)
		if b.Reference != "" && row.Reference.Text != "" {
			figure = Say(row.Value.Cell, " (", row.Reference.Cell, ")")
		}
		y = c.labelled(y, row.Label, figure, row.Value.Known && row.Value.Number < 0)
		if row.Value.Known {
			from, to := s.at(0), s.at(row.Value.Number)
			c.rectangle(min(from, to), y, max(from, to)-min(from, to), barHeight, barClass(row.Value.Number)+" outline")
			if row.Value.Number < 0 {
				c.hatched(to, y, from-to, barHeight)
			}
		}
		if b.Reference != "" && row.Reference.Known {
			x := s.at(row.Reference.Number)
			c.line(x, y-2, x, y+barHeight+2, "tick")
			c.line(x, y-2, x, y+barHeight+2, "tick-core")
		}
		c.line(s.at(0), y, s.at(0), y+barHeight+3, "axis")
		y += barHeight + barGap
	}
	c.height = y
}

// barClass is the fill of a bar; one below zero is hatched besides.
func barClass(figure float64) string {
	if figure < 0 {
		return "f2"
	}
	return "f4"
}

// unit writes the unit of bars from zero above them and returns where they begin.
func (c *canvas) unit(unit string) float64 {
	c.text(margin+3, letterLine-4, "start", "quiet", fitted(unit+", from zero at the upright line", canvasWidth-2*margin-6))
	return letterLine + 4
}

// labelled writes a row's label and figure above its bar and returns where the bar begins. A
// long label is cut: the table of the figure has it whole.
func (c *canvas) labelled(y float64, label string, figure Words, warns bool) float64 {
	class := "strong"
	if warns {
		class = "strong warning"
	}
	room := canvasWidth - 2*margin - 18
	c.text(margin+3, y+letterLine-4, "start", "label", fitted(label, room-width(figure.String())))
	c.figure(canvasWidth-margin-3, y+letterLine-4, "end", class, figure)
	return y + letterLine
}

func (b Bars) legend() []legendEntry {
	var entries []legendEntry
	below := false
	for _, row := range b.Rows {
		below = below || row.Value.Known && row.Value.Number < 0
	}
	if below || b.Reference != "" {
		entries = append(entries, legendEntry{b.Name, func(c *canvas) { c.rectangle(1, 3, 26, 12, "f4 outline") }})
	}
	if below {
		entries = append(entries, legendEntry{b.Name + " below zero", func(c *canvas) {
			c.rectangle(1, 3, 26, 12, "f2 outline")
			c.hatched(1, 3, 26, 12)
		}})
	}
	if b.Reference != "" {
		entries = append(entries, legendEntry{b.Reference + " (in brackets)", func(c *canvas) { c.line(14, 1, 14, 17, "tick-core") }})
	}
	return entries
}
