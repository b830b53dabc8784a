package page

import "strconv"

// Stacked are bars of parts, one bar a row from zero. Parts are numbered in the bars and in
// the legend; figures below zero are not drawn.
type Stacked struct {
	Unit  string
	Parts []string // what the parts are, six at most
	Rows  []StackedBar
}

// StackedBar is one row: its whole, and its parts in the order of Parts.
type StackedBar struct {
	Label string
	Whole Value
	Parts []Value
}

const (
	stackHeight = 19.0
	keyRoom     = 13.0 // a part this wide has its number in it
)

func (b Stacked) draw(c *canvas) {
	var figures []float64
	for _, row := range b.Rows {
		sum := 0.0
		for _, part := range row.Parts {
			sum += max(part.Number, 0)
		}
		figures = append(figures, sum)
	}
	s := scaleFromZero(figures, margin+3, canvasWidth-margin-3)
	y := c.unit(b.Unit)
	for _, row := range b.Rows {
		y = c.labelled(y, row.Label, Say(row.Whole.Cell), false)
		sum := 0.0
		for i, part := range row.Parts {
			if !part.Known || part.Number <= 0 {
				continue
			}
			from, to := s.at(sum), s.at(sum+part.Number)
			c.rectangle(from, y, to-from, stackHeight, partFill(i)+" outline")
			if to-from >= keyRoom {
				c.text((from+to)/2, y+stackHeight-5, "middle", "on"+strconv.Itoa(i%6+1)+" strong", strconv.Itoa(i+1))
			}
			sum += part.Number
		}
		c.line(s.at(0), y, s.at(0), y+stackHeight+3, "axis")
		y += stackHeight + barGap
	}
	c.height = y
}

func partFill(part int) string { return "f" + strconv.Itoa(part%6+1) }

func (b Stacked) legend() []legendEntry {
	var entries []legendEntry
	for i, part := range b.Parts {
		entries = append(entries, legendEntry{strconv.Itoa(i+1) + " " + part, func(c *canvas) {
			c.rectangle(1, 1, 26, 16, partFill(i)+" outline")
			c.text(14, 14, "middle", "on"+strconv.Itoa(i%6+1)+" strong", strconv.Itoa(i+1))
		}})
	}
	return entries
}
