package workbook

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
)

const (
	longestSheetName = 30
	mostSeries       = 6
	mostCharts       = 8
)

// Kinds of Chart and of Emphasis.
const (
	kindBar        = "bar"
	kindBarStacked = "bar stacked"
	kindWaterfall  = "bar waterfall" // stacked; the first series is not drawn: the others stand on it
	kindLine       = "line"
	kindLineLimits = "line limits" // the first series is the line, the second marks on it, the others its limits
	kindScatter    = "scatter"
	kindFunnel     = "scatter limits" // the first series is points, the others lines

	emphasisNegative = "negative"
	emphasisWord     = "word"
)

// CheckSheetName says whether spreadsheet programs take this name of a tab.
func CheckSheetName(name string) error {
	switch length := len(utf16.Encode([]rune(name))); {
	case name == "":
		return errors.New("a sheet has no name")
	case length > longestSheetName:
		return fmt.Errorf("sheet name %q has %d characters: %d at most", name, length, longestSheetName)
	case strings.ContainsAny(name, `[]:*?/\`):
		return fmt.Errorf(`sheet name %q has one of [ ] : * ? / \`, name)
	case strings.HasPrefix(name, "'") || strings.HasSuffix(name, "'"):
		return fmt.Errorf("sheet name %q begins or ends with an apostrophe", name)
	case strings.TrimSpace(name) != name:
		return fmt.Errorf("sheet name %q begins or ends with a blank", name)
	case strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }):
		return fmt.Errorf("sheet name %q has a character that does not print", name)
	case strings.EqualFold(name, "history"):
		return fmt.Errorf("sheet name %q is reserved by spreadsheet programs", name)
	}
	return nil
}

func checkSheetNames(sheets []Sheet) error {
	if len(sheets) == 0 {
		return errors.New("a book without sheets")
	}
	taken := map[string]string{}
	for _, sheet := range sheets {
		if err := CheckSheetName(sheet.Name); err != nil {
			return err
		}
		key := strings.ToLower(sheet.Name)
		if other, ok := taken[key]; ok {
			return fmt.Errorf("two sheets are named %q and %q: names must differ by more than case", other, sheet.Name)
		}
		taken[key] = sheet.Name
	}
	return nil
}

// checkReferences holds charts and emphasis against the columns.
func checkReferences(sheet Sheet) error {
	if len(sheet.Charts) > mostCharts {
		return fmt.Errorf("%d charts: %d at most", len(sheet.Charts), mostCharts)
	}
	for i, chart := range sheet.Charts {
		if err := checkChart(sheet, chart); err != nil {
			return fmt.Errorf("chart %d: %w", i+1, err)
		}
	}
	for i, emphasis := range sheet.Emphasis {
		if err := checkEmphasis(sheet, emphasis); err != nil {
			return fmt.Errorf("emphasis %d: %w", i+1, err)
		}
	}
	return nil
}

func checkChart(sheet Sheet, chart Chart) error {
	switch chart.Kind {
	case kindBar, kindBarStacked, kindWaterfall, kindLine, kindLineLimits, kindScatter, kindFunnel:
	default:
		return fmt.Errorf("unknown kind %q: bar, bar stacked, line, line limits, scatter or scatter limits", chart.Kind)
	}
	if chart.Title == "" || chart.AltText == "" {
		return errors.New("it needs a title and a text for readers who cannot see it")
	}
	if len(chart.Series) == 0 || len(chart.Series) > mostSeries {
		return fmt.Errorf("%d series: 1 to %d", len(chart.Series), mostSeries)
	}
	if chart.MaxRows < 0 {
		return fmt.Errorf("at most %d rows", chart.MaxRows)
	}
	category, err := namedColumn(sheet, chart.Category)
	if err != nil {
		return err
	}
	numbers := chart.Series
	if chart.Where.Column != "" {
		if _, err := namedColumn(sheet, chart.Where.Column); err != nil {
			return err
		}
	}
	if chart.Kind == kindScatter || chart.Kind == kindFunnel {
		numbers = append([]string{category.Name}, numbers...)
	}
	for _, name := range numbers {
		c, err := namedColumn(sheet, name)
		if err != nil {
			return err
		}
		if f, err := formatNamed(c.Format); err != nil || f.kind != kindNumber {
			return fmt.Errorf("column %q holds no numbers to draw", name)
		}
	}
	return nil
}

func checkEmphasis(sheet Sheet, emphasis Emphasis) error {
	if _, err := namedColumn(sheet, emphasis.Column); err != nil {
		return err
	}
	switch {
	case emphasis.Kind == emphasisNegative:
	case emphasis.Kind != emphasisWord:
		return fmt.Errorf("unknown kind %q: negative or word", emphasis.Kind)
	case emphasis.Word == "":
		return errors.New("it names no word")
	}
	return nil
}

func namedColumn(sheet Sheet, name string) (Column, error) {
	index := slices.IndexFunc(sheet.Columns, func(c Column) bool { return c.Name == name })
	if index < 0 {
		return Column{}, fmt.Errorf("no column %q in this sheet", name)
	}
	return sheet.Columns[index], nil
}
