package main

import (
	"fmt"
	"math/big"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// foundCell is a figure of a finding's sentence or amount, and the cells that it is read from:
// summed where there are several.
type foundCell struct {
	item   string // what the finding is about
	figure string // which number of the sentence, counted from 0, or "amount", "people" or "count"
	sheet  string
	where  func(row map[string]string) bool // the rows that are summed
	column string
	scale  int64 // the figure is so many times the cell; 0: once
}

// demoFindings holds every figure of the sentences of the front sheets against the cells of
// the sheets that they lead to, and every link against the place that it names.
func demoFindings(t *testing.T, p *testPlant) {
	t.Helper()
	row := func(column, value string) func(map[string]string) bool {
		return func(cells map[string]string) bool { return cells[column] == value }
	}
	all := func(map[string]string) bool { return true }
	of := func(first, second string, column, value string) func(map[string]string) bool {
		return func(cells map[string]string) bool { return cells[first] == second && cells[column] == value }
	}
	books := []struct {
		book, week, month string
		cells             []foundCell
	}{
		{"job-margin", "2026-W46", "", []foundCell{
			{"margin", "count", "margin_summary", row("stretch", "this period"), "jobs", 0},
			{"margin", "2", "margin_summary", row("stretch", "this period"), "margin_pct", 100},
			{"margin", "amount", "margin_summary", row("stretch", "this period"), "margin_usd", 0},
			{"closed", "count", "margin_summary", row("stretch", "this period"), "closed", 0},
			{"closed", "amount", "margin_by_job", row("job", "J1064"), "margin_usd", 0},
			{"against quote", "amount", "margin_by_job", row("job", "J1059"), "variance_usd", 0},
			{"against quote", "0", "bridge_by_job", row("job", "J1059"), "lumber_price_usd", 0},
		}},
		{"lumber-yield", "2026-W46", "", []foundCell{
			{"waste", "0", "waste_by", row("seen_by", "week"), "waste_pct", 100},
			{"waste", "amount", "waste", all, "waste_usd", 0},
			{"dearest batch", "amount", "waste", row("unit", "B1281"), "waste_usd", 0},
			{"stock lengths", "amount", "cut_plan", row("pool", "batch"), "avoidable_usd", 0},
		}},
		{"crews-shifts", "2026-W46", "", []foundCell{
			{"crews", "0", "like_for_like", of("scope", "crew", "name", "BLUE"), "difference_pct", -100},
			{"crews", "2", "like_for_like", of("scope", "crew", "name", "BLUE"), "low_pct", 100},
			{"crews", "3", "like_for_like", of("scope", "crew", "name", "BLUE"), "high_pct", 100},
			{"crews", "4", "like_for_like", of("scope", "crew", "name", "GREEN"), "difference_pct", 100},
			{"crews", "8", "like_for_like", of("scope", "crew", "name", "BLUE"), "raw_min", 0},
			{"crews", "11", "like_for_like", of("scope", "crew", "name", "GREEN"), "raw_others_min", 0},
			{"change T2-LASER", "0", "change_study", of("change", "T2-LASER", "measure", "set-up"), "effect_pct", -100},
			{"change T2-LASER", "amount", "change_study", of("change", "T2-LASER", "measure", "set-up"), "year_usd", 0},
			{"change T2-LASER", "people", "change_study", of("change", "T2-LASER", "measure", "set-up"), "year_min", 0},
			{"waiting", "people", "minutes_accounted", all, "waiting_min", 0},
			{"set-up", "people", "minutes_accounted", all, "setup_min", 0},
		}},
		{"month-end", "", "2026-10", []foundCell{
			{"cost of goods sold", "0", "cost_of_goods_sold", all, "sold_usd", 0},
			{"cost of goods sold", "1", "cost_of_goods_sold", all, "revenue_usd", 0},
			{"cost of goods sold", "amount", "cost_of_goods_sold", all, "margin_usd", 0},
			{"work in process", "0", "wip_rollforward", all, "wip_closing_usd", 0},
			{"work in process", "1", "wip_rollforward", all, "fg_closing_usd", 0},
			{"stock", "count", "board_rollforward", all, "closing_boards", 0},
			{"stock", "amount", "board_rollforward", all, "closing_usd", 0},
			{"overhead", "amount", "overhead", of("part", "overhead", "pool", "TOTAL"), "under_usd", 0},
			{"overhead", "1", "overhead", of("part", "overhead", "pool", "TOTAL"), "actual_usd", 0},
			{"received, not invoiced", "amount", "received_not_invoiced", all, "accrued_usd", 0},
		}},
	}
	for _, book := range books {
		period := []string{"--week", book.week}
		folder := book.week
		if book.month != "" {
			period, folder = []string{"--month", book.month, "--wages"}, book.month
		}
		path := filepath.Join(p.dir, "books", folder, book.book+".xlsx")
		found := map[string][]string{}
		for _, cells := range sheetRows(t, path, "front") {
			if len(cells) > 2 && slices.Contains([]string{"finding", "also"}, cells[0]) {
				found[cells[1]] = append(cells, "", "", "", "", "")
			}
		}
		t.Run(book.book, func(t *testing.T) {
			for _, want := range book.cells {
				finding := found[want.item]
				if finding == nil {
					t.Errorf("no finding %q", want.item)
					continue
				}
				figure := figureOf(finding, want.figure)
				sum, rows := new(big.Rat), 0
				for _, cells := range p.rows(append([]string{"report", want.sheet, "--format", "json"}, period...)...) {
					texts := map[string]string{}
					for name, cell := range cells {
						texts[name] = asText(cell)
					}
					if want.where(texts) && texts[want.column] != "" {
						sum.Add(sum, exact(t, texts[want.column]))
						rows++
					}
				}
				if want.scale != 0 {
					sum.Mul(sum, big.NewRat(want.scale, 1))
				}
				_, decimals, _ := strings.Cut(figure, ".")
				if rows == 0 || sum.FloatString(len(decimals)) != figure {
					t.Errorf("%s, %s: the front sheet says %q, %s of %s in %d rows %s", want.item, want.figure, figure, want.column, want.sheet, rows, sum.FloatString(4))
				}
			}
			if book.book == "lumber-yield" {
				offcutOfWaste(t, p, found["offcut"])
			}
			leadsWhereItSays(t, path)
		})
	}
}

// offcutOfWaste holds the share of offcut against the two columns that it is a share of.
func offcutOfWaste(t *testing.T, p *testPlant, finding []string) {
	t.Helper()
	offcut, waste := new(big.Rat), new(big.Rat)
	for _, cells := range p.rows("report", "waste", "--week", "2026-W46", "--format", "json") {
		offcut.Add(offcut, exact(t, asText(cells["offcut_bf"])))
		waste.Add(waste, exact(t, asText(cells["waste_bf"])))
	}
	share := new(big.Rat).Quo(offcut, waste)
	if want := share.Mul(share, big.NewRat(100, 1)).FloatString(1); finding == nil || figureOf(finding, "0") != want {
		t.Errorf("offcut: the front sheet says %v, the sheet waste %s %%", finding, want)
	}
}

var figurePattern = regexp.MustCompile(`-?\d[\d,]*(?:\.\d+)?`)

// figureOf is a number of a finding, without marks between thousands.
func figureOf(finding []string, which string) string {
	text := ""
	switch which {
	case "count":
		text = finding[3]
	case "people":
		text = finding[4]
	case "amount":
		text = finding[5]
	default:
		// Names of jobs, batches and months are no figures.
		words := regexp.MustCompile(`\b[A-Z]+\d+\b|\b\d{4}-\d{2}\b`).ReplaceAllString(finding[2], "")
		numbers := figurePattern.FindAllString(words, -1)
		if at, _ := strconv.Atoi(which); at < len(numbers) {
			text = numbers[at]
		}
	}
	return strings.ReplaceAll(text, ",", "")
}

// leadsWhereItSays opens every link of a front sheet: it leads to the sheet that its text
// names, and to a row that holds the rest of it.
func leadsWhereItSays(t *testing.T, path string) {
	t.Helper()
	file, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := file.GetRows("front")
	if err != nil {
		t.Fatal(err)
	}
	led := 0
	for i, cells := range rows {
		if len(cells) < 7 || cells[6] == "" || cells[6] == "Look at" {
			continue
		}
		linked, target, err := file.GetCellHyperLink("front", fmt.Sprintf("G%d", i+1))
		if err != nil || !linked {
			t.Errorf("%q leads nowhere (%v)", cells[6], err)
			continue
		}
		sheet, text, _ := strings.Cut(cells[6], ": ")
		to, cell, _ := strings.Cut(target, "!")
		if strings.Trim(to, "'") != sheet {
			t.Errorf("%q leads to %s", cells[6], target)
			continue
		}
		led++
		if text == "" {
			continue
		}
		_, line, err := excelize.CellNameToCoordinates(cell)
		if err != nil {
			t.Fatal(err)
		}
		sheetCells, err := file.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		if line > len(sheetCells) || !slices.Contains(sheetCells[line-1], text) {
			t.Errorf("%q leads to %s, and nothing there says %q", cells[6], target, text)
		}
	}
	if led < 4 {
		t.Errorf("%d links on the front sheet", led)
	}
}
