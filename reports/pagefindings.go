package reports

import (
	"slices"
	"strings"

	"trusstally/reports/page"
)

// mostFindings is how many sentences a group of the page has.
const mostFindings = 8

// paceItems and qualityItems are the findings of the front sheets that stand together: pace
// never without quality. A change under study is pace too.
var (
	paceItems    = []string{"crews", "set-up", "set-up share", comparableLabour, "board feet a labour hour"}
	qualityItems = []string{"first pass", "inspections"}
)

// wallItems are the findings that may hang on a wall: no dollars, no pace, no injuries, no job,
// crew or person.
var wallItems = []string{"waste", "offcut", "waiting", "first pass", "inspections"}

// findingTopics are the topics of what a front sheet finds: what leads, and the rest of it.
var findingTopics = []string{"finding", "also"}

func isPace(item string) bool {
	return slices.Contains(paceItems, item) || strings.HasPrefix(item, "change ")
}

// findings are sentences of the book's front sheet: those of these topics whose item is
// wanted, with their figures or without.
func (s *pageSource) findings(book string, topics []string, wanted func(item string) bool, withFigures bool) []page.Finding {
	front := s.sheet(book, "front")
	var list []page.Finding
	for row := range front.Rows {
		if !slices.Contains(topics, front.text(row, "topic")) || !wanted(front.text(row, "item")) {
			continue
		}
		finding := page.Finding{Item: front.cell(row, "item"), Sentence: front.cell(row, "detail")}
		if withFigures {
			for _, column := range []struct{ name, words, unit string }{{"rows", "count", ""}, {"people_min", "", "people-minutes"}, {"amount_usd", "", "USD"}} {
				if value := front.value(row, column.name); value.Known {
					finding.Figures = append(finding.Figures, page.Amount{Name: column.words, Figure: value.Cell, Unit: column.unit})
				}
			}
		}
		list = append(list, finding)
	}
	return list
}

// group is findings of a book under a heading, the first of them if there are many.
func (s *pageSource) group(heading, book string, findings []page.Finding) page.Group {
	group := page.Group{Heading: heading, Link: s.sheet(book, "front").link(), Findings: findings}
	if len(findings) > mostFindings {
		group.Findings = findings[:mostFindings]
		group.More = "The rest is on the front sheet of " + book + "."
	}
	return group
}

// bookGroups are the findings of each weekly book that are neither pace nor quality.
func (s *pageSource) bookGroups(books []*Book) []page.Group {
	var groups []page.Group
	for _, book := range books {
		findings := s.findings(book.Name, findingTopics, func(item string) bool {
			return !isPace(item) && !slices.Contains(qualityItems, item)
		}, true)
		if len(findings) > 0 {
			groups = append(groups, s.group(book.Title, book.Name, findings))
		}
	}
	return groups
}

// paceSection is pace with quality beside it, or neither.
func (s *pageSource) paceSection() page.Section {
	section := page.Section{ID: "pace-and-quality", Heading: "Pace and quality, read together", Empty: nothingHere}
	quality := s.sheet("crews-shifts", "quality_and_safety")
	if len(quality.Rows) == 0 {
		return section
	}
	like := s.sheet("crews-shifts", "like_for_like")
	section.Tiles = []page.Tile{s.firstPassTile(), s.inspectionsTile()}
	if pace := s.findings("crews-shifts", findingTopics, isPace, true); len(pace) > 0 {
		section.Groups = append(section.Groups, s.group("Pace", "crews-shifts", pace))
	}
	if found := s.findings("crews-shifts", findingTopics, func(item string) bool { return slices.Contains(qualityItems, item) }, true); len(found) > 0 {
		section.Groups = append(section.Groups, s.group("Quality", "crews-shifts", found))
	}
	if crews := like.where("scope", "crew"); len(crews) > 0 {
		table := like.table("Crews like for like, beside right first time", crews[:min(len(crews), mostBars)],
			"name", "finding", "difference_pct", "low_pct", "high_pct", "first_pass_pct")
		if len(crews) > mostBars {
			table.More = "The other crews are on the sheet like_for_like of crews-shifts."
		}
		section.Tables = append(section.Tables, *table)
	}
	var rows []int
	for row := range quality.Rows {
		if quality.text(row, "of_what") == "plant" && quality.text(row, "measure") != "pace" {
			rows = append(rows, row)
		}
	}
	section.Tables = append(section.Tables, *quality.table("Quality and safety of the plant", rows,
		"measure", "name", "counted", "out_of", "base", "share_pct", "rate", "rate_low", "rate_high", "rate_unit", "remark"))
	section.Notes = []string{
		"Pace never stands alone: a crew can look fast by skipping inspections or by work that others make again. No individual is ranked.",
		"Many reports of near misses and first aid say that people report, not that a plant is worse.",
	}
	return section
}

// firstPassTile is the share of the plant's trusses that were right the first time.
func (s *pageSource) firstPassTile() page.Tile {
	return tile("Right first time", s.plantShare("first pass"), "of trusses", "neither made again nor failed at inspection")
}

func (s *pageSource) inspectionsTile() page.Tile {
	return tile("Inspections", s.plantShare("inspections"), "of those due", "three trusses a table, shift and week")
}

// plantShare is the plant's share of a measure of quality_and_safety.
func (s *pageSource) plantShare(measure string) page.Value {
	sheet := s.sheet("crews-shifts", "quality_and_safety")
	for _, row := range sheet.where("measure", measure) {
		if sheet.text(row, "of_what") == "plant" {
			return sheet.value(row, "share_pct")
		}
	}
	return page.Value{}
}
