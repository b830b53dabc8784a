package template

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"trusstally/ingest"
)

// NotesSheet is the name of the sheet with the example row and the notes. Landing reads the
// sheet that is named as the feed, so nothing on this one is ever taken for a row.
const NotesSheet = "notes"

// rowsPrepared is how many rows have drop-down lists.
const rowsPrepared = 5000

// longestPrompt and longestList are the format's limits of a message beside a cell and of
// the words of a drop-down list, in characters.
const (
	longestPrompt = 255
	longestList   = 255
)

// Workbook returns an .xlsx file for the feed with two sheets. The first is named as the feed
// and has the headings in its first row, and cells that take what is typed as it is typed:
// text where the feed has a code or a length, dates as dates; a message beside each cell
// says how it is written, and a drop-down list offers the words of a closed list, or the
// stations. The second sheet has the example row, turned upright, with the unit of each column
// and notes on it. The same feed and stations give the same bytes.
func Workbook(feed ingest.Feed, stations []string) ([]byte, error) {
	book := excelize.NewFile()
	defer book.Close()
	w := writer{book: book, feed: feed, stations: stations}
	for _, step := range []func() error{w.styles, w.rows, w.notes} {
		if err := step(); err != nil {
			return nil, fmt.Errorf("write the template of %s: %w", feed.Name, err)
		}
	}
	var out bytes.Buffer
	if err := book.Write(&out); err != nil {
		return nil, fmt.Errorf("write the template of %s: %w", feed.Name, err)
	}
	return out.Bytes(), nil
}

// writer is one template being written.
type writer struct {
	book     *excelize.File
	feed     ingest.Feed
	stations []string

	heading, needed, bold, wrapped int            // numbers of styles
	cells                          map[string]int // style of the cells that have a number format
}

// formats are the number formats of the cells, by what a column declares.
const (
	textFormat   = "@" // takes 12-06-08 and 00123 as they are typed
	dateFormat   = "yyyy-mm-dd"
	timeFormat   = "yyyy-mm-dd hh:mm"
	numberFormat = "General"
)

func format(c ingest.Column) string {
	switch c.Kind {
	case ingest.Date:
		return dateFormat
	case ingest.Time:
		return timeFormat
	case ingest.Integer, ingest.Decimal:
		return numberFormat
	default:
		return textFormat
	}
}

func (w *writer) styles() (err error) {
	fill := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"#E7ECEF"}}
	strong := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"#C9D6DF"}}
	text := textFormat
	for _, style := range []struct {
		number *int
		style  excelize.Style
	}{
		{&w.heading, excelize.Style{Fill: fill, CustomNumFmt: &text}},
		{&w.needed, excelize.Style{Font: &excelize.Font{Bold: true}, Fill: strong, CustomNumFmt: &text}},
		{&w.bold, excelize.Style{Font: &excelize.Font{Bold: true}}},
		{&w.wrapped, excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}, CustomNumFmt: &text}},
	} {
		if *style.number, err = w.book.NewStyle(&style.style); err != nil {
			return err
		}
	}
	w.cells = map[string]int{}
	for _, format := range []string{textFormat, dateFormat, timeFormat, numberFormat} {
		if w.cells[format], err = w.book.NewStyle(&excelize.Style{CustomNumFmt: &format}); err != nil {
			return err
		}
	}
	return nil
}

// rows writes the sheet that landing reads: headings, and nothing below them but formats,
// messages and lists.
func (w *writer) rows() error {
	sheet := w.feed.Name
	if err := w.book.SetSheetName(w.book.GetSheetName(0), sheet); err != nil {
		return err
	}
	for i, c := range w.feed.Columns {
		column, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := w.book.SetColWidth(sheet, column, column, width(c)); err != nil {
			return err
		}
		if err := w.book.SetColStyle(sheet, column, w.cells[format(c)]); err != nil {
			return err
		}
		if err := w.headingCell(sheet, column+"1", c); err != nil {
			return err
		}
		if err := w.book.AddDataValidation(sheet, w.guide(c, fmt.Sprintf("%s2:%s%d", column, column, rowsPrepared+1))); err != nil {
			return err
		}
	}
	return w.book.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}

// headingCell writes a heading; those of columns that are never blank are bold.
func (w *writer) headingCell(sheet, cell string, c ingest.Column) error {
	if err := w.book.SetCellStr(sheet, cell, c.Name); err != nil {
		return err
	}
	style := w.heading
	if c.Required {
		style = w.needed
	}
	return w.book.SetCellStyle(sheet, cell, cell, style)
}

// guide is the message and the drop-down list of a column's cells. A word that is not in
// the list can't be typed; a station can, for plant.toml may have it by then.
func (w *writer) guide(c ingest.Column, cells string) *excelize.DataValidation {
	guide := excelize.NewDataValidation(true)
	guide.Sqref = cells
	message := c.Meaning + ". " + sentence(c.Grammar())
	if letters := []rune(message); len(letters) > longestPrompt {
		message = string(letters[:longestPrompt-1]) + "…"
	}
	guide.SetInput(c.Name, message)
	list, title, style := c.Choices, "Not in the list", excelize.DataValidationErrorStyleStop
	if c.Station {
		list, title, style = w.stations, "No such station", excelize.DataValidationErrorStyleWarning
	}
	if len(list) == 0 || len([]rune(strings.Join(list, ","))) > longestList || strings.Contains(strings.Join(list, ""), ",") {
		return guide
	}
	if err := guide.SetDropList(list); err != nil {
		return guide // longer than the format allows: typed by hand
	}
	guide.SetError(style, title, "Choose one of "+strings.Join(list, ", ")+".")
	return guide
}

// notes writes the second sheet: the example row, then a line on each column.
func (w *writer) notes() error {
	if _, err := w.book.NewSheet(NotesSheet); err != nil {
		return err
	}
	lines := []string{
		"One row of the sheet " + w.feed.Name + " is " + w.feed.Row + ". This sheet is for reading: nothing on it is imported.",
		"Read again: " + w.feed.ReadAgain() + ".",
		"Save the workbook as " + w.feed.Name + "-….xlsx in inbox/, with anything in place of the dots. Columns that are not bold may be left out.",
	}
	for i, line := range lines {
		if err := w.book.SetCellStr(NotesSheet, fmt.Sprintf("A%d", i+1), line); err != nil {
			return err
		}
	}
	at := len(lines) + 2
	for i, heading := range []string{"column", "example", "unit", "how it is written", "what it means"} {
		cell := fmt.Sprintf("%c%d", 'A'+i, at)
		if err := w.book.SetCellStr(NotesSheet, cell, heading); err != nil {
			return err
		}
		if err := w.book.SetCellStyle(NotesSheet, cell, cell, w.bold); err != nil {
			return err
		}
	}
	for _, c := range w.feed.Columns {
		at++
		if err := w.headingCell(NotesSheet, fmt.Sprintf("A%d", at), c); err != nil {
			return err
		}
		for i, text := range []string{c.Example, c.Unit(), sentence(c.Grammar()), sentence(c.Meaning)} {
			cell := fmt.Sprintf("%c%d", 'B'+i, at)
			if err := w.book.SetCellStr(NotesSheet, cell, text); err != nil {
				return err
			}
			if err := w.book.SetCellStyle(NotesSheet, cell, cell, w.wrapped); err != nil {
				return err
			}
		}
	}
	for i, width := range []float64{24, 22, 20, 52, 60} {
		column := string(rune('A' + i))
		if err := w.book.SetColWidth(NotesSheet, column, column, width); err != nil {
			return err
		}
	}
	landscape, once, asLong, fit := "landscape", 1, 0, true
	if err := w.book.SetPageLayout(NotesSheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &once, FitToHeight: &asLong}); err != nil {
		return err
	}
	return w.book.SetSheetProps(NotesSheet, &excelize.SheetPropsOptions{FitToPage: &fit})
}

// width is how wide a column is, in characters: its heading, or its example.
func width(c ingest.Column) float64 {
	widest := max(len(c.Name), len([]rune(c.Example)), 8)
	if c.Kind == ingest.Time {
		widest = max(widest, len("2026-08-24 06:10"))
	}
	return float64(min(widest, 40)) + 2
}

// sentence puts a capital before a phrase and a full stop behind it.
func sentence(phrase string) string {
	if phrase == "" {
		return ""
	}
	return strings.ToUpper(phrase[:1]) + phrase[1:] + "."
}
