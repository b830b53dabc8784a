package main

import (
	"context"
	"os"
	"path/filepath"

	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/reports/page"
	"trusstally/sql/warehouse"
)

// writePages writes the week's two pages beside its books, which were written from the same
// warehouse. Of a week whose days are all closed they stay as they are, as its books do. Paths
// are within the plant's folder. A page that another program has open stays as it is.
func (p *program) writePages(ctx context.Context, w *warehouse.Warehouse, f *folder, books []*reports.Book, week reports.Period) (written []string, open problem.List, err error) {
	closed, _, err := warehouse.ClosedUntil(ctx, w.DB)
	if err != nil {
		return nil, nil, err
	}
	private := false
	for _, book := range books {
		holds, err := book.HoldsWages(ctx, w)
		if err != nil {
			return nil, nil, err
		}
		if holds && !book.Monthly { // a plant's own sheet may
			private = true
		}
	}
	office, wall, err := reports.Pages(ctx, books, w, week, f.settings.Name)
	if err != nil {
		return nil, nil, err
	}
	for _, one := range []struct {
		file string
		page page.Page
	}{{reports.WeekPageFile, office}, {reports.WallPageFile, wall}} {
		path := filepath.Join(f.books(), week.Label, one.file)
		if _, err := os.Stat(path); err == nil && !week.Until.After(closed) {
			continue
		}
		place := filepath.ToSlash(filepath.Join("books", week.Label, one.file))
		err := page.WriteFile(path, modeOf(private), one.page)
		switch {
		case err != nil && openElsewhere(path, err):
			open = append(open, notReplaced(place, err))
		case err != nil:
			return nil, nil, err
		default:
			written = append(written, place)
		}
	}
	return written, open, nil
}
