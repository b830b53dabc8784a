package reports

import (
	"math"

	"trusstally/reports/page"
)

// mostBars is how many rows a chart of rows draws; the sheet has them all.
const mostBars = 10

const nothingHere = "Nothing to show for this week."

// jobsFigure is the margin of the jobs that left, the lowest first, with what was quoted.
func (s *pageSource) jobsFigure() page.Figure {
	sheet := s.sheet("job-margin", "margin_by_job")
	figure := page.Figure{
		Title: page.Say("Margin by job"), Empty: nothingHere, Source: sheet.link(),
		Description: "Bars of each job's margin from zero, the lowest first, with a tick at its quoted margin. The table below has the figures.",
	}
	var rows []int
	for row := range sheet.Rows {
		if sheet.text(row, "status") != "prior" {
			rows = append(rows, row)
		}
	}
	drawn := rows[:min(len(rows), mostBars)]
	chart := page.Bars{Unit: "USD", Name: "margin", Reference: "quoted margin"}
	for _, row := range drawn {
		chart.Rows = append(chart.Rows, page.Bar{
			Label: sheet.text(row, "job"), Value: shown(sheet.value(row, "margin_usd")), Reference: sheet.value(row, "quoted_margin_usd"),
		})
	}
	if len(drawn) == 0 {
		return figure
	}
	figure.Chart = chart
	figure.Table = sheet.table("Margin by job", drawn, "job", "customer", "status", "revenue_usd", "margin_usd", "margin_pct", "quoted_margin_usd", "variance_usd")
	figure.Table.Folded = true
	if len(drawn) < len(rows) {
		figure.Table.More = "These earned least; the others are on the sheet margin_by_job of job-margin."
	}
	if first := sheet.value(drawn[0], "margin_usd"); first.Known {
		earned := " earned least: "
		if len(rows) == 1 {
			earned = " earned "
		}
		figure.Title = page.Say("Margin by job: ", sheet.cell(drawn[0], "job"), earned, first.Cell, " USD")
		if quoted := sheet.cell(drawn[0], "quoted_margin_usd"); quoted.Text != "" {
			figure.Title = append(figure.Title, page.Say(", quoted ", quoted, " USD")...)
		}
	}
	return figure
}

// bridgeFigure leads from the quoted margin over its terms to the actual one.
func (s *pageSource) bridgeFigure() page.Figure {
	sheet := s.sheet("job-margin", "margin_bridge")
	figure := page.Figure{
		Title: page.Say("From quoted to actual margin"), Empty: nothingHere, Source: sheet.link(),
		Description: "Bars that lead from the quoted margin over what each term added or took to the actual margin. Terms of nothing are left out of the drawing. The table below has the figures.",
	}
	last := len(sheet.Rows) - 1
	if last < 1 || sheet.value(0, "jobs").Number == 0 {
		return figure
	}
	chart := page.Waterfall{Unit: "USD"}
	most := 0
	for row := range sheet.Rows {
		effect := sheet.value(row, "effect_usd")
		level := row == 0 || row == last
		if !level && effect.Number == 0 {
			continue
		}
		chart.Steps = append(chart.Steps, page.Step{
			Label: sheet.text(row, "term"), Effect: effect, After: sheet.value(row, "running_usd").Number, Level: level,
		})
		if !level && math.Abs(effect.Number) > math.Abs(sheet.value(most, "effect_usd").Number)*float64(min(most, 1)) {
			most = row
		}
	}
	figure.Chart = chart
	figure.Title = page.Say("Margin as quoted: nothing moved it")
	if most > 0 {
		figure.Title = page.Say("What moved the margin most: ", sheet.cell(most, "term"), ", ", sheet.cell(most, "effect_usd"), " USD")
	}
	figure.Table = sheet.table("From quoted to actual margin", sheet.allRows(), "term", "jobs", "effect_usd", "running_usd")
	figure.Table.Folded = true
	return figure
}

// trendFigure is one measure over the trailing weeks, with its mean and limits. What happened
// on the floor names crews: it is not for the wall.
func (s *pageSource) trendFigure(measure, heading string, wall bool) page.Figure {
	sheet := s.sheet("crews-shifts", "trend")
	figure := page.Figure{
		Title: page.Say(heading + " by week"), Empty: nothingHere, Source: sheet.link(),
		Description: "Line of the weekly value with its mean and control limits, where there are weeks enough for them. Weeks with a change on the floor have a square, weeks that differ by more than chance a ring. The scale doesn't begin at zero. The table below has the figures.",
	}
	rows := sheet.where("measure", measure)
	if len(rows) == 0 {
		return figure
	}
	last := rows[len(rows)-1]
	chart := page.Lines{Unit: sheet.text(last, "unit"), Mean: sheet.value(last, "mean"), Low: sheet.value(last, "low"), High: sheet.value(last, "high")}
	for _, row := range rows {
		chart.Points = append(chart.Points, page.Point{
			Label: sheet.cell(row, "workweek"), Value: sheet.value(row, "value"),
			Marked: sheet.value(row, "marked").Known, Signal: sheet.text(row, "signal") != "" && sheet.value(row, "mean").Known,
		})
	}
	figure.Chart = chart
	figure.Title = page.Say(heading+" in ", sheet.cell(last, "workweek"), ": ", sheet.cell(last, "value"), " ", sheet.cell(last, "unit"), ", no more than chance")
	if signal := sheet.cell(last, "signal"); signal.Text != "" {
		figure.Title[len(figure.Title)-1].Text = ", "
		figure.Title = append(figure.Title, signal)
	}
	columns := []string{"workweek", "value", "unit", "mean", "low", "high", "signal"}
	if !wall {
		columns = append(columns, "events")
	}
	figure.Table = sheet.table(heading+" by week", rows, columns...)
	figure.Table.Folded = true
	return figure
}

// wasteFigure is what became of the waste, in dollars or board feet.
func (s *pageSource) wasteFigure(column, unit string) page.Figure {
	sheet := s.sheet("lumber-yield", "waste_by_class")
	figure := page.Figure{
		Title: page.Say("Waste by what became of it"), Empty: nothingHere, Source: sheet.link(),
		Description: "Bars of each class of waste from zero. Classes of nothing are left out of the drawing. The table below has the figures.",
	}
	chart := page.Bars{Unit: unit, Name: "waste"}
	most := -1
	for row := range sheet.Rows {
		value := sheet.value(row, column)
		if value.Number == 0 {
			continue
		}
		chart.Rows = append(chart.Rows, page.Bar{Label: sheet.text(row, "class"), Value: value})
		if most < 0 || value.Number > sheet.value(most, column).Number {
			most = row
		}
	}
	if most < 0 {
		return figure
	}
	figure.Chart = chart
	figure.Title = page.Say("Of ", sheet.total(column).Cell, " "+unit+" of waste, ", sheet.cell(most, "class"), " is most: ", sheet.cell(most, column), " "+unit)
	figure.Table = sheet.table("Waste by what became of it", sheet.allRows(), "class", column, "net_pct", "meaning")
	figure.Table.Folded = true
	return figure
}

// uses are what paid minutes went on: the columns of minutes_accounted, in its order.
var uses = []struct{ column, words string }{
	{"setup_min", "set-up"}, {"build_min", "build"}, {"stoppage_min", "stoppage"},
	{"waiting_min", "waiting"}, {"indirect_min", "indirect"}, {"not_worked_min", "paid, not worked"},
}

// minutesFigure is where the paid minutes went, by crew and shift; for the wall, the plant's.
func (s *pageSource) minutesFigure(wall bool) page.Figure {
	sheet := s.sheet("crews-shifts", "minutes_accounted")
	figure := page.Figure{Title: page.Say("Where the paid minutes went"), Empty: nothingHere, Source: sheet.link()}
	if len(sheet.Rows) == 0 || !sheet.total("paid_min").Known {
		return figure
	}
	if share := sheet.total("waiting_pct"); share.Known {
		figure.Title = page.Say("Waiting took ", share.Cell, " of ", sheet.total("paid_min").Cell, " paid people-minutes")
	}
	if wall {
		figure.Description = "Bars of the plant's paid people-minutes by use, from zero. The table below has the figures."
		bars := page.Bars{Unit: "people-minutes", Name: "minutes"}
		table := &page.Table{Caption: "Paid people-minutes by use", Columns: []page.Column{{Heading: "Use"}, {Heading: "People-minutes", Unit: "min", Number: true}}, Folded: true}
		for _, use := range uses {
			bars.Rows = append(bars.Rows, page.Bar{Label: use.words, Value: shown(sheet.total(use.column))})
			table.Rows = append(table.Rows, []page.Cell{{Text: use.words}, sheet.total(use.column).Cell})
		}
		figure.Chart, figure.Table = bars, table
		return figure
	}
	figure.Description = "Bars of the paid people-minutes of each crew and shift by use, from zero. No pace: they rank nobody. The table below has the figures."
	chart := page.Stacked{Unit: "people-minutes"}
	columns := []string{"crew_shift", "paid_min"}
	for _, use := range uses {
		chart.Parts = append(chart.Parts, use.words)
		columns = append(columns, use.column)
	}
	drawn := sheet.allRows()[:min(len(sheet.Rows), mostBars)]
	for _, row := range drawn {
		bar := page.StackedBar{Label: sheet.text(row, "crew_shift"), Whole: shown(sheet.value(row, "paid_min"))}
		for _, use := range uses {
			bar.Parts = append(bar.Parts, sheet.value(row, use.column))
		}
		chart.Rows = append(chart.Rows, bar)
	}
	figure.Chart = chart
	figure.Table = sheet.table("Where the paid minutes went", drawn, append(columns, "waiting_pct")...)
	figure.Table.Folded = true
	if len(drawn) < len(sheet.Rows) {
		figure.Table.More = "The other crews and shifts are on the sheet minutes_accounted of crews-shifts."
	}
	return figure
}
