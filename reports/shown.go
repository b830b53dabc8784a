package reports

import "slices"

// pageSheets are the sheets that the pages show cells of.
var pageSheets = []string{
	"front", "margin_summary", "margin_by_job", "margin_bridge", "on_time_backlog", "waste_by_class",
	"like_for_like", "trend", "minutes_accounted", "quality_and_safety",
}

// RememberForPages lets the weekly books remember what these sheets show as they are written,
// so that Pages shows the very same cells and no SQL runs twice. It is for one writing of the
// books and their pages, from one source: the rows stand as long as the books do.
func RememberForPages(books []*Book) {
	for _, book := range books {
		if book.Monthly || book.Name == OwnBook {
			continue
		}
		for _, d := range append([]*Definition{book.front}, book.Sheets...) {
			if d != nil && !d.own && slices.Contains(pageSheets, d.Sheet) {
				d.shown = &shownRows{}
			}
		}
	}
}

// shownRows is the rows of a sheet as a book showed them. A nil one remembers nothing.
type shownRows struct {
	period Period
	whole  bool // every row is there
	rows   [][]any
}

// of says whether the rows of that period, as its book shows them, are remembered.
func (s *shownRows) of(period Period) bool {
	return s != nil && s.whole && s.period.From.Equal(period.From) && s.period.Until.Equal(period.Until) && s.period.book == period.book
}

// begin forgets what was remembered, and returns what the rows are added to.
func (s *shownRows) begin(period Period) *shownRows {
	if s != nil {
		*s = shownRows{period: period}
	}
	return s
}

func (s *shownRows) add(cells []any) {
	if s != nil {
		s.rows = append(s.rows, slices.Clone(cells))
	}
}

// end says that no row is left.
func (s *shownRows) end() {
	if s != nil {
		s.whole = true
	}
}
