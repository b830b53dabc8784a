package page

import "slices"

// Lines is one measure over time with its mean and limits, each labelled where it ends. It
// needn't begin at zero.
type Lines struct {
	Unit            string
	Points          []Point
	Mean, Low, High Value // unknown where there is none
}

// Point is one moment. An unknown value leaves a gap.
type Point struct {
	Label  Cell
	Value  Value
	Marked bool // something happened then
	Signal bool // more than chance
}

const (
	plotTop    = 22.0
	plotBottom = 172.0
	plotRight  = 268.0
	apart      = 15.0 // between two labels at the right
)

func (l Lines) draw(c *canvas) {
	var figures []float64
	for _, point := range l.Points {
		if point.Value.Known {
			figures = append(figures, point.Value.Number)
		}
	}
	for _, value := range []Value{l.Mean, l.Low, l.High} {
		if value.Known {
			figures = append(figures, value.Number)
		}
	}
	s := scale{low: 0, high: 1, from: plotBottom, to: plotTop + 8}
	if len(figures) > 0 {
		s.low, s.high = slices.Min(figures), slices.Max(figures)
	}
	if s.low == s.high {
		s.low, s.high = s.low-1, s.high+1
	}
	left := margin + 6
	across := scale{low: 0, high: max(float64(len(l.Points)-1), 1), from: left, to: plotRight - 8}
	c.text(margin+3, letterLine-4, "start", "quiet", fitted(l.Unit, canvasWidth-2*margin-6))

	var labels []endLabel
	level := func(value Value, class, name string) {
		if value.Known {
			y := s.at(value.Number)
			c.line(left, y, plotRight, y, class)
			labels = append(labels, endLabel{y, Say(name+" ", value.Cell), "quiet"})
		}
	}
	level(l.High, "limit", "upper limit")
	level(l.Mean, "mean", "mean")
	level(l.Low, "limit", "lower limit")

	var run [][2]float64
	flush := func() {
		if len(run) > 1 {
			c.path(run, "line")
		}
		run = nil
	}
	for i, point := range l.Points {
		if !point.Value.Known {
			flush()
			continue
		}
		run = append(run, [2]float64{across.at(float64(i)), s.at(point.Value.Number)})
	}
	flush()
	for i, point := range l.Points {
		if !point.Value.Known {
			continue
		}
		x, y := across.at(float64(i)), s.at(point.Value.Number)
		drawPoint(c, x, y, point.Marked, point.Signal)
		if i == len(l.Points)-1 {
			labels = append(labels, endLabel{y, Say(point.Value.Cell), "strong"})
		}
	}
	lowest := placeLabels(c, labels)
	c.height = max(plotBottom+24, lowest+8)
	if n := len(l.Points); n > 0 {
		c.figure(margin+3, plotBottom+20, "start", "quiet", Say(l.Points[0].Label))
		if n > 1 {
			c.figure(plotRight, plotBottom+20, "end", "quiet", Say(l.Points[n-1].Label))
		}
	}
}

func drawPoint(c *canvas, x, y float64, marked, signal bool) {
	if marked {
		c.rectangle(x-4.5, y-4.5, 9, 9, "point")
	} else {
		c.circle(x, y, 3.5, "point")
	}
	if signal {
		c.circle(x, y, 8, "ring")
	}
}

// endLabel stands beside the end of a line.
type endLabel struct {
	y     float64
	words Words
	class string
}

// placeLabels writes the labels so that none covers another, as near to their lines as that
// allows, and returns where the lowest stands.
func placeLabels(c *canvas, labels []endLabel) float64 {
	slices.SortStableFunc(labels, func(a, b endLabel) int {
		switch {
		case a.y < b.y:
			return -1
		case a.y > b.y:
			return 1
		}
		return 0
	})
	lowest := 0.0
	for i, label := range labels {
		y := label.y + 4.5
		if i > 0 {
			y = max(y, lowest+apart)
		}
		lowest = y
		c.figure(plotRight+6, y, "start", label.class, label.words)
	}
	return lowest
}

func (l Lines) legend() []legendEntry {
	entries := []legendEntry{{"a week", func(c *canvas) {
		c.path([][2]float64{{1, 9}, {27, 9}}, "line")
		drawPoint(c, 14, 9, false, false)
	}}}
	marked, signal := false, false
	for _, point := range l.Points {
		marked, signal = marked || point.Marked, signal || point.Signal
	}
	if marked {
		entries = append(entries, legendEntry{"a week with a change on the floor", func(c *canvas) { drawPoint(c, 14, 9, true, false) }})
	}
	if signal {
		entries = append(entries, legendEntry{"more than chance", func(c *canvas) { drawPoint(c, 14, 9, false, true) }})
	}
	return entries
}
