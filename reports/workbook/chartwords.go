package workbook

import (
	"fmt"
	"math/big"
	"strings"
)

// says is what a chart shows, in one line under its title: figures of the cells that it draws,
// as the cells show them. "" where there is nothing to say; of a funnel nothing is said, for
// its points have no limits of their own.
func (d drawing) says() (string, error) {
	points, err := d.points()
	if err != nil {
		return "", err
	}
	var said string
	switch d.Kind {
	case kindBar:
		if len(d.series) == 1 {
			said = points.extremes()
		} else {
			said = points.crossings()
		}
	case kindBarStacked:
		said = points.largestPart()
	case kindWaterfall:
		said = points.largestStep()
	case kindLine:
		said = points.lastOfEach()
	case kindLineLimits:
		said = points.lastInLimits()
	}
	if drawn := len(d.categoryCells); d.of > drawn {
		said = joined(said, fmt.Sprintf("the first %d of %d rows are drawn", drawn, d.of))
	}
	return said, nil
}

// chartPoints are the numbers of a chart by series and row; nil where a cell holds none.
type chartPoints struct {
	drawing
	values [][]*big.Rat
	labels []string
}

func (d drawing) points() (chartPoints, error) {
	p := chartPoints{drawing: d}
	for _, cell := range d.categoryCells {
		label, err := d.category.format.shown(cell)
		if err != nil {
			return p, err
		}
		p.labels = append(p.labels, label)
	}
	for _, cells := range d.seriesCells {
		values := make([]*big.Rat, len(cells))
		for i, cell := range cells {
			if number, ok := cell.(Number); ok {
				values[i], _ = new(big.Rat).SetString(string(number))
			}
		}
		p.values = append(p.values, values)
	}
	return p, nil
}

// shown is a cell as its column shows it, with the unit of the axis where the column is no share.
func (p chartPoints) shown(series, row int) string {
	text, err := p.series[series].format.shown(p.seriesCells[series][row])
	if err != nil {
		return ""
	}
	return p.withUnit(text)
}

func (p chartPoints) withUnit(text string) string {
	if strings.HasSuffix(text, "%") {
		return text
	}
	return text + " " + p.ValueAxisTitle
}

// extremes names the highest bar, and the lowest where it hangs below nothing.
func (p chartPoints) extremes() string {
	high, low := -1, -1
	for i, value := range p.values[0] {
		if value == nil {
			continue
		}
		if high < 0 || value.Cmp(p.values[0][high]) > 0 {
			high = i
		}
		if low < 0 || value.Cmp(p.values[0][low]) < 0 {
			low = i
		}
	}
	if high < 0 {
		return ""
	}
	said := ""
	if p.values[0][high].Sign() > 0 || high == low {
		said = p.labels[high] + ": " + p.shown(0, high)
		if high != low {
			said = "most at " + said
		}
	}
	if p.values[0][low].Sign() < 0 && high != low {
		said = joined(said, "lowest at "+p.labels[low]+": "+p.shown(0, low))
	}
	return said
}

// crossings counts on which side of the second series the bars of the first are.
func (p chartPoints) crossings() string {
	above, below, rows := 0, 0, 0
	for i, value := range p.values[0] {
		other := p.values[1][i]
		if value == nil || other == nil {
			continue
		}
		rows++
		switch value.Cmp(other) {
		case 1:
			above++
		case -1:
			below++
		}
	}
	if rows == 0 {
		return ""
	}
	word, count := "above", above
	if below > above {
		word, count = "below", below
	}
	return fmt.Sprintf("“%s” is %s “%s” in %d of %d", p.name(0), word, p.name(1), count, rows)
}

// largestPart names the series that takes most of a stack of all rows.
func (p chartPoints) largestPart() string {
	total, most, largest := new(big.Rat), new(big.Rat), -1
	for i, values := range p.values {
		sum := new(big.Rat)
		for _, value := range values {
			if value != nil {
				sum.Add(sum, value)
			}
		}
		total.Add(total, sum)
		if largest < 0 || sum.Cmp(most) > 0 {
			largest, most = i, sum
		}
	}
	if total.Sign() <= 0 || most.Sign() <= 0 {
		return ""
	}
	share := new(big.Rat).Quo(most, total)
	return fmt.Sprintf("most is %s: %s%% of all", lowered(p.name(largest)), share.Mul(share, big.NewRat(100, 1)).FloatString(1))
}

// largestStep leads from the first level of a bridge to its last, and names the largest step.
// Its series are the invisible base, what raised, what lowered, and the levels.
func (p chartPoints) largestStep() string {
	first, last, row, series := -1, -1, -1, 0
	for i, level := range p.values[3] {
		if level != nil {
			if first < 0 {
				first = i
			}
			last = i
		}
		for _, at := range []int{1, 2} {
			if step := p.values[at][i]; step != nil && step.Sign() != 0 && (row < 0 || new(big.Rat).Abs(step).Cmp(new(big.Rat).Abs(p.values[series][row])) > 0) {
				row, series = i, at
			}
		}
	}
	if first < 0 || first == last {
		return ""
	}
	said := fmt.Sprintf("from %s to %s", p.level(first), p.withUnit(p.level(last)))
	if row >= 0 {
		said = joined(said, fmt.Sprintf("the largest step %s: %s, %s", map[int]string{1: "up", 2: "down"}[series], p.labels[row], p.shown(series, row)))
	}
	return said
}

func (p chartPoints) level(row int) string {
	text, err := p.series[3].format.shown(p.seriesCells[3][row])
	if err != nil {
		return ""
	}
	return text
}

// lastOfEach gives the last value of each line.
func (p chartPoints) lastOfEach() string {
	for row := len(p.labels) - 1; row >= 0; row-- {
		said := ""
		for i, values := range p.values {
			if values[row] == nil {
				continue
			}
			text, err := p.series[i].format.shown(p.seriesCells[i][row])
			if err != nil {
				return ""
			}
			said = joined(said, p.name(i)+" "+text)
		}
		if said != "" {
			return p.labels[row] + ": " + p.withUnit(said)
		}
	}
	return ""
}

// lastInLimits holds the last value of a line against its limits. Its series are the value,
// the marked value, the mean, the lower and the upper limit.
func (p chartPoints) lastInLimits() string {
	for row := len(p.labels) - 1; row >= 0; row-- {
		value := p.values[0][row]
		if value == nil {
			continue
		}
		said := p.labels[row] + ": " + p.shown(0, row)
		low, high := p.values[3][row], p.values[4][row]
		switch {
		case low == nil && high == nil:
			return joined(said, "no limits yet")
		case high != nil && value.Cmp(high) > 0:
			return joined(said, "above the upper limit")
		case low != nil && value.Cmp(low) < 0:
			return joined(said, "below the lower limit")
		}
		return joined(said, "within the limits")
	}
	return ""
}

// name is a series by its heading, without the unit.
func (p chartPoints) name(series int) string {
	name, _, _ := strings.Cut(p.series[series].heading, "\n")
	return name
}

func joined(said, more string) string {
	if said == "" {
		return more
	}
	return said + "; " + more
}

// lowered begins a word small, unless it is an abbreviation.
func lowered(word string) string {
	if len(word) < 2 || strings.ToUpper(word[:2]) == word[:2] {
		return word
	}
	return strings.ToLower(word[:1]) + word[1:]
}
