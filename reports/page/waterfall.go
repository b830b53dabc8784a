package page

// Waterfall leads from one level over steps to another, one row each.
type Waterfall struct {
	Unit  string
	Steps []Step
}

// Step is one row: a level stands on zero, any other step on what came before it.
type Step struct {
	Label  string
	Effect Value   // a level's own figure, or what the step adds
	After  float64 // the running figure once the step is taken
	Level  bool
}

func (w Waterfall) draw(c *canvas) {
	var figures []float64
	for _, step := range w.Steps {
		figures = append(figures, step.After)
		if !step.Level {
			figures = append(figures, step.After-step.Effect.Number)
		}
	}
	s := scaleFromZero(figures, margin+3, canvasWidth-margin-3)
	y := c.unit(w.Unit)
	var before float64 // place where the last step ended
	for i, step := range w.Steps {
		figure := Say(step.Effect.Cell)
		if !step.Level && step.Effect.Number > 0 {
			figure = Say("▲ ", step.Effect.Cell)
		}
		if !step.Level && step.Effect.Number < 0 {
			figure = Say("▼ ", step.Effect.Cell)
		}
		top := c.labelled(y, step.Label, figure, step.Effect.Number < 0)
		start, end := s.at(step.After-step.Effect.Number), s.at(step.After)
		class := "f4"
		switch {
		case step.Level:
			start = s.at(0)
		case step.Effect.Number >= 0:
			class = "f3"
		default:
			class = "f2"
		}
		if i > 0 {
			c.line(before, y-barGap, before, top, "thread")
		}
		c.rectangle(min(start, end), top, max(start, end)-min(start, end), barHeight, class+" outline")
		if !step.Level && step.Effect.Number < 0 {
			c.hatched(end, top, start-end, barHeight)
		}
		c.line(s.at(0), top, s.at(0), top+barHeight+3, "axis")
		before = end
		y = top + barHeight + barGap
	}
	c.height = y
}

func (w Waterfall) legend() []legendEntry {
	return []legendEntry{
		{"level", func(c *canvas) { c.rectangle(1, 3, 26, 12, "f4 outline") }},
		{"▲ raised it", func(c *canvas) { c.rectangle(1, 3, 26, 12, "f3 outline") }},
		{"▼ lowered it", func(c *canvas) {
			c.rectangle(1, 3, 26, 12, "f2 outline")
			c.hatched(1, 3, 26, 12)
		}},
	}
}
