package workbook

import (
	"fmt"
	"strings"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
)

const (
	letterPaper   = 1   // 8.5 by 11 inches
	ledgerPaper   = 3   // 11 by 17 inches
	longestFooter = 180 // of the 255 characters that a footer's three parts share
	marginInches  = 0.5
	footerInches  = 0.75 // bottom margin, which the footer stands in

	pageInches   = 10.0 // between the margins of a landscape letter page
	screenDots   = 96.0 // an inch
	leastScale   = 0.55 // smaller print isn't read
	digitDots    = 7.0  // a digit of the body font
	columnMargin = 5.0
)

// isWide says whether the table, one page wide, would be too small to read on letter paper.
// It prints on ledger paper, 11 by 17 inches, and its first column stays in sight on screen.
func (l layout) isWide() bool {
	dots := 0.0
	for _, width := range l.widths {
		dots += width*digitDots + columnMargin
	}
	return dots/screenDots*leastScale > pageInches
}

// setUpPage is for print: landscape, one page wide and as many long as it takes, headings
// on every page, and a footer that says what the sheet is once it lies on a desk.
func (w *sheetWriter) setUpPage(footer string) error {
	paper, orientation, wide, long := letterPaper, "landscape", 1, 0
	if w.layout.isWide() {
		paper = ledgerPaper
	}
	if err := w.file.SetPageLayout(w.Name, &excelize.PageLayoutOptions{
		Size: &paper, Orientation: &orientation, FitToWidth: &wide, FitToHeight: &long,
	}); err != nil {
		return err
	}
	fit := true
	if err := w.file.SetSheetProps(w.Name, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	side, bottom, foot := marginInches, footerInches, marginInches/2
	if err := w.file.SetPageMargins(w.Name, &excelize.PageLayoutMarginsOptions{
		Left: &side, Right: &side, Top: &side, Bottom: &bottom, Header: &foot, Footer: &foot,
	}); err != nil {
		return err
	}
	if err := w.file.SetHeaderFooter(w.Name, &excelize.HeaderFooterOptions{
		OddFooter: "&L" + footerText(footer) + "&C&A&Rpage &P of &N",
	}); err != nil {
		return err
	}
	gridLines := false
	if err := w.file.SetSheetView(w.Name, 0, &excelize.ViewOptions{ShowGridLines: &gridLines}); err != nil {
		return err
	}
	if w.layout.headingRow == 0 {
		return nil
	}
	if area := w.printArea(); area != "" {
		if err := w.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", RefersTo: area, Scope: w.Name}); err != nil {
			return err
		}
	}
	titles := fmt.Sprintf("%s!$%d:$%d", quotedSheet(w.Name), w.layout.headingRow, w.layout.headingRow)
	return w.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: titles, Scope: w.Name})
}

// footerText is the caller's text within a footer, where an ampersand begins a code.
func footerText(text string) string {
	text = strings.ReplaceAll(strings.Join(strings.Fields(text), " "), "&", "&&")
	units := utf16.Encode([]rune(text))
	if len(units) <= longestFooter {
		return text
	}
	cut := strings.TrimRight(string(utf16.Decode(units[:longestFooter])), "&\uFFFD ")
	return cut + "…"
}

// quotedSheet is a sheet's name as formulas write it.
func quotedSheet(name string) string {
	return "'" + strings.ReplaceAll(name, "'", "''") + "'"
}
