package workbook

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

const (
	mostChartRows = 10_000 // that one series draws

	// Sizes in pixels. Two charts of chartHeight fit on a printed page.
	chartWidth    = 640
	chartHeight   = 296
	chartFrame    = 146 // of a bar chart, what is not bars
	chartBar      = 20  // a bar and its share of the gap
	tallestChart  = 600
	defaultRow    = 20
	libraryRow    = 18 // what the library takes a row for
	defaultColumn = 64
	printedHeight = 620

	chartOffset = 8 // from the corner of its first cell, so that no print area cuts its frame
	labelHeight = 12

	rowsBetween     = 2
	columnsToCharts = 2 // from the last column of the table to the first under the charts
)

// drawing is a chart with the cells it draws, read from the spooled rows.
type drawing struct {
	Chart
	category      column
	series        []column
	categoryCells []any
	seriesCells   [][]any // by series
	categoryRange string  // with its sheet
	seriesRanges  []string
	of            int    // rows that could be drawn
	finding       string // what the cells say, under the title
}

// chartPlace is the cells that a chart covers, and a margin to the right and below.
type chartPlace struct {
	firstColumn, firstRow, lastColumn, lastRow int
	rows                                       int // from the first, that the chart covers
	chart                                      int // its place among the sheet's charts
}

// chartPlaces puts the charts right of the table, under one another, below the frozen rows.
func (p *plan) chartPlaces() []chartPlace {
	if p.rows.rows == 0 {
		return nil
	}
	row := p.layout.firstRow
	first := len(p.columns) - 1 + columnsToCharts
	var places []chartPlace
	for i, chart := range p.Charts {
		if p.drawn[i].rows == 0 {
			continue
		}
		rows := (heightOf(chart, p.drawn[i].rows) + defaultRow - 1) / defaultRow
		place := chartPlace{
			chart:       i,
			firstColumn: first, lastColumn: first + chartWidth/defaultColumn,
			firstRow: row, lastRow: row + rows, rows: rows,
		}
		places = append(places, place)
		row = place.lastRow + rowsBetween
	}
	return places
}

// heightOf gives every bar the same room, however many there are.
func heightOf(chart Chart, rows int) int {
	switch chart.Kind {
	case kindBar:
		return min(chartFrame+chartBar*rows*len(chart.Series), tallestChart)
	case kindBarStacked, kindWaterfall:
		return min(chartFrame+chartBar*rows, tallestChart)
	}
	return chartHeight
}

// span is some rows of a table that stand together: those that a chart draws, of so many that
// it could.
type span struct{ first, rows, of int }

// findDrawn finds the rows that each chart draws.
func (p *plan) findDrawn() error {
	for _, chart := range p.Charts {
		drawn := span{rows: p.rows.rows}
		if chart.Where.Column != "" {
			at, apart := p.columnIndex(chart.Where.Column), false
			drawn = span{first: -1}
			err := p.rows.each(len(p.columns), 0, func(index int, row []any) error {
				if word, _ := row[at].(string); word != chart.Where.Value {
					return nil
				}
				if drawn.first < 0 {
					drawn.first = index
				}
				apart = apart || index != drawn.first+drawn.rows
				drawn.rows++
				return nil
			})
			if err != nil {
				return err
			}
			if apart {
				return fmt.Errorf("the rows of %q do not stand together, as chart %q needs", chart.Where.Value, chart.Title)
			}
		}
		drawn.of = drawn.rows
		drawn.rows = min(drawn.rows, mostChartRows)
		if chart.MaxRows > 0 {
			drawn.rows = min(drawn.rows, chart.MaxRows)
		}
		p.drawn = append(p.drawn, drawn)
	}
	return nil
}

// addCharts puts the charts on the sheet. The library makes the parts and their relations;
// what is drawn is written by chartXML, and takes the place of the library's part when the
// file is packed: the library leaves out the stored values that viewers draw from, and
// cannot set an axis of bars at the side where it is read.
func (w *sheetWriter) addCharts() error {
	for _, place := range w.plan.chartPlaces() {
		drawn, err := w.drawing(w.Charts[place.chart], w.drawn[place.chart])
		if err != nil {
			return err
		}
		alone := excelize.Chart{
			Type:      excelize.Line,
			Series:    []excelize.ChartSeries{{Categories: drawn.categoryRange, Values: drawn.seriesRanges[0]}},
			Dimension: excelize.ChartDimension{Width: chartWidth, Height: uint(place.rows * libraryRow)},
			Format: excelize.GraphicOptions{
				AltText: joined(drawn.AltText, drawn.finding), OffsetX: chartOffset, OffsetY: chartOffset,
				Positioning: "absolute", // a filter that hides rows beside the chart must not squeeze it
			},
		}
		if err := w.file.AddChart(w.Name, cellName(place.firstColumn, place.firstRow), &alone); err != nil {
			return err
		}
		w.charts.add(chartXML(drawn))
	}
	return nil
}

// drawing reads the cells that a chart draws.
func (w *sheetWriter) drawing(chart Chart, rows span) (drawing, error) {
	category := w.columnIndex(chart.Category)
	d := drawing{
		Chart: chart, category: w.columns[category], categoryRange: w.chartRange(category, rows),
		seriesCells: make([][]any, len(chart.Series)),
	}
	indexes := make([]int, len(chart.Series))
	for i, name := range chart.Series {
		indexes[i] = w.columnIndex(name)
		d.series = append(d.series, w.columns[indexes[i]])
		d.seriesRanges = append(d.seriesRanges, w.chartRange(indexes[i], rows))
	}
	d.of = rows.of
	err := w.rows.each(len(w.columns), rows.first+rows.rows, func(index int, row []any) error {
		if index < rows.first {
			return nil
		}
		d.categoryCells = append(d.categoryCells, row[category])
		for i, at := range indexes {
			d.seriesCells[i] = append(d.seriesCells[i], row[at])
		}
		return nil
	})
	if err != nil {
		return d, err
	}
	d.finding, err = d.says()
	return d, err
}

// chartRange is rows of a column, as charts refer to them.
func (w *sheetWriter) chartRange(column int, rows span) string {
	letters := columnLetters(column)
	return fmt.Sprintf("%s!$%s$%d:$%s$%d", quotedSheet(w.Name), letters, w.layout.firstRow+rows.first, letters, w.layout.firstRow+rows.first+rows.rows-1)
}

// printArea keeps table and charts apart on paper: the table as wide as the page allows,
// then the charts, on each page as many as it holds. "" leaves it to the program, where
// there is no chart.
func (p *plan) printArea() string {
	places := p.chartPlaces()
	if len(places) == 0 {
		return ""
	}
	areas := []string{p.area(0, 1, len(p.columns), p.layout.lastRow)}
	for len(places) > 0 {
		page := 1
		for page < len(places) && p.fitsPage(places[0], places[page]) {
			page++
		}
		first, last := places[0], places[page-1]
		areas = append(areas, p.area(first.firstColumn, first.firstRow, last.lastColumn, last.lastRow))
		places = places[page:]
	}
	return strings.Join(areas, ",")
}

// fitsPage says whether all from the first to the last chart print on one page. Where rows
// of the table are higher than others nothing is promised.
func (p *plan) fitsPage(first, last chartPlace) bool {
	return (last.lastRow-first.firstRow+1)*defaultRow <= printedHeight && !slices.Contains(p.layout.wraps, true)
}

// area is a range of the sheet as print set-up writes it.
func (p *plan) area(firstColumn, firstRow, lastColumn, lastRow int) string {
	return fmt.Sprintf("%s!$%s$%d:$%s$%d", quotedSheet(p.Name),
		columnLetters(firstColumn), firstRow, columnLetters(lastColumn), lastRow)
}

// serial is a time as the file format counts it: days since the end of 1899.
func serial(t time.Time) float64 {
	epoch := time.Date(1899, time.December, 30, 0, 0, 0, 0, time.UTC)
	return t.Sub(epoch).Hours() / 24
}
