package reports

import (
	"context"
	"slices"

	"trusstally/reports/page"
)

// Names of the pages beside the week's books.
const (
	WeekPageFile = "index.html"
	WallPageFile = "wall.html"
)

// Pages returns the two pages of the week: one for the office, and one for a wall, which has
// no dollars, no pace, no injuries and names no job, crew or person. The wall's is a file of
// its own, since what a file holds can be read, whatever its styles hide. Every figure is a
// cell of the weekly books, which must be written from the same source and period; what they
// need must be filled. What RememberForPages let the books remember is not worked out again.
func Pages(ctx context.Context, books []*Book, from Source, period Period, plant string) (week, wall page.Page, err error) {
	var weekly []*Book // not the plant's own, which can hold anything
	for _, book := range books {
		if !book.Monthly && book.Name != OwnBook {
			weekly = append(weekly, book)
		}
	}
	s := newPageSource(ctx, weekly, from, period, plant)
	week, wall = s.weekPage(weekly, period, plant), s.wallPage(period, plant)
	return week, wall, s.failed
}

// weekPage is what a general manager reads in half a minute, and what it stands on.
func (s *pageSource) weekPage(weekly []*Book, period Period, plant string) page.Page {
	first := weekly[0].Name // what all books say is read in this one
	p := page.Page{
		Title: plant + ", " + period.Label, Heading: plant + ", week " + period.Label, Subtitle: period.String(),
		Alarms: s.findings(first, []string{alarmTopic}, everyItem, true),
		Footer: []page.Words{
			page.Say("Every figure is a cell of the books beside this page, shown as it is shown there. What is not known is never zero."),
			page.Say("Written by trusstally " + Version + ". Drafts for the plant's accountant, who has the last word on revenue timing."),
		},
	}
	front := s.sheet(first, "front")
	for _, row := range front.where("topic", "balances") {
		p.Status = append(p.Status, page.Say("Every balance holds: ", front.cell(row, "detail"), "."))
	}
	for _, row := range front.where("item", "status") {
		p.Status = append(p.Status, page.Say(front.cell(row, "detail")))
	}
	for _, book := range weekly {
		p.Links = append(p.Links, page.Link{File: book.Name + ".xlsx", Words: book.Title})
	}
	p.Links = append(p.Links, page.Link{File: WallPageFile, Words: "Page for the wall"})
	missing := page.Section{ID: "missing", Heading: "What is missing", Empty: "Nothing is known to be missing."}
	if list := s.findings(first, []string{"missing"}, everyItem, true); len(list) > 0 {
		missing.Groups = append(missing.Groups, s.group("To mend", first, list))
	}
	if list := s.findings(first, []string{"less"}, everyItem, true); len(list) > 0 {
		missing.Groups = append(missing.Groups, s.group("Not recorded, and what stands in for it", first, list))
	}
	p.Sections = []page.Section{
		{ID: "figures-of-week", Heading: "The week", Tiles: s.weekTiles()},
		{ID: "findings", Heading: "Findings", Empty: nothingHere, Groups: s.bookGroups(weekly)},
		{ID: "charts", Heading: "Charts", Figures: []page.Figure{
			s.jobsFigure(), s.trendFigure("margin", "Margin", false), s.bridgeFigure(),
			s.wasteFigure("waste_usd", "USD"), s.trendFigure("waste", "Waste", false), s.minutesFigure(false),
		}},
		s.paceSection(),
		missing,
	}
	return p
}

// alarmTopic is the topic of a balance that fails on the front sheets.
const alarmTopic = "DOES NOT BALANCE"

func everyItem(string) bool { return true }

func (s *pageSource) weekTiles() []page.Tile {
	summary := s.sheet("job-margin", "margin_summary")
	waste := s.sheet("lumber-yield", "waste_by_class")
	backlog := s.sheet("job-margin", "on_time_backlog")
	var tiles []page.Tile
	for _, row := range summary.where("stretch", "this period") {
		tiles = append(tiles,
			tile("Revenue", summary.value(row, "revenue_usd"), "USD", summary.cell(row, "jobs"), " jobs shipped"),
			tile("Margin", summary.value(row, "margin_usd"), "USD", shown(summary.value(row, "margin_pct")).Cell, " of revenue"),
			tile("Against quote", summary.value(row, "variance_usd"), "USD", "quoted ", shown(summary.value(row, "quoted_margin_usd")).Cell),
			tile("Incomplete", summary.value(row, "incomplete"), "jobs", stake(summary.value(row, "at_stake_usd"))...),
		)
	}
	return append(tiles,
		tile("Waste", waste.total("waste_usd"), "USD", waste.total("waste_bf").Cell, " BF"),
		s.waitingTile(), s.firstPassTile(),
		tile("Still to build", backlog.total("to_build"), "trusses", shown(backlog.total("to_build_bf")).Cell, " BF"),
	)
}

// stake is the revenue of the jobs that have no margin yet.
func stake(value page.Value) []any {
	if !value.Known {
		return nil
	}
	return []any{"without a margin yet: ", value.Cell, " USD of revenue"}
}

func (s *pageSource) waitingTile() page.Tile {
	minutes := s.sheet("crews-shifts", "minutes_accounted")
	return tile("Waiting", minutes.total("waiting_pct"), "of paid minutes", "direct people with no run open")
}

// wallPage is what everybody in the plant may read.
func (s *pageSource) wallPage(period Period, plant string) page.Page {
	trend := s.sheet("crews-shifts", "trend")
	backlog := s.sheet("job-margin", "on_time_backlog")
	p := page.Page{
		Title: plant + ", " + period.Label + ", for the wall", Heading: plant + ", week " + period.Label, Subtitle: period.String(), Wall: true,
		Footer: []page.Words{page.Say("Every figure is a cell of the week's books. What is not known is never zero.")},
	}
	if len(s.sheet("lumber-yield", "front").where("topic", alarmTopic)) > 0 {
		p.Alarms = []page.Finding{{Item: page.Cell{Text: "This week"}, Sentence: page.Cell{Text: "not to be relied on until the office has settled it"}}}
	}
	var tiles []page.Tile
	if rows := trend.where("measure", "waste"); len(rows) > 0 {
		last := rows[len(rows)-1]
		tiles = append(tiles, tile("Waste", trend.value(last, "value"), trend.text(last, "unit"), trend.cell(last, "workweek")))
	}
	tiles = append(tiles, s.firstPassTile(), s.inspectionsTile(), s.waitingTile(), tile("Still to build", backlog.total("to_build"), "trusses"))
	findings := page.Section{ID: "findings", Heading: "Findings", Empty: nothingHere}
	for _, book := range []string{"lumber-yield", "crews-shifts"} {
		list := s.findings(book, findingTopics, isForTheWall, false)
		if len(list) == 0 {
			continue
		}
		group := s.group(map[string]string{"lumber-yield": "Lumber", "crews-shifts": "Work"}[book], book, list)
		group.Link = page.Link{} // the books are not for the wall
		findings.Groups = append(findings.Groups, group)
	}
	charts := page.Section{ID: "charts", Heading: "Charts", Figures: []page.Figure{
		s.wasteFigure("waste_bf", "BF"), s.trendFigure("waste", "Waste", true), s.trendFigure("first pass", "Right first time", true), s.minutesFigure(true),
	}}
	for i := range charts.Figures {
		charts.Figures[i].Source = page.Link{}
	}
	p.Sections = []page.Section{{ID: "figures-of-week", Heading: "The week", Tiles: tiles}, findings, charts}
	return p
}

func isForTheWall(item string) bool {
	return slices.Contains(wallItems, item)
}
