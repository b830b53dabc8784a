package main

import (
	"context"
	"errors"
	"fmt"
	"path"
	"strings"

	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// limits bound a query and each sheet of the plant's own.
func (f *folder) limits() warehouse.Limits {
	return warehouse.Limits{Time: f.settings.Reports.Longest, MemoryMiB: f.settings.Reports.MemoryMiB}
}

// openForReaders opens the warehouse for the SELECTs of the plant's own sheets.
func (p *program) openForReaders(ctx context.Context, f *folder) reports.Opener {
	return func(wages bool) (reports.Source, error) {
		return p.openForQuery(ctx, f, wages)
	}
}

// booksWithOwn returns the books with the plant's own sheets, run for the periods of
// periodOf, and what is wrong with those that are left out. No other reader may be open: a
// second one of this process would end the lock of the first.
func (p *program) booksWithOwn(ctx context.Context, f *folder, periodOf func(*reports.Book) (reports.Period, bool)) ([]*reports.Book, problem.List, error) {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return nil, nil, err
	}
	own, err := reports.ReadOwn(f.path, books, f.settings.Reports.Wages)
	if err != nil {
		return nil, nil, err
	}
	if err := own.Run(ctx, books, p.openForReaders(ctx, f), periodOf); err != nil {
		return nil, nil, err
	}
	return own.Join(books), own.Problems, nil
}

// weeklyBooks returns the books of the week, its own sheets run; none when no week has ended.
func (p *program) weeklyBooks(ctx context.Context, f *folder, label string) ([]*reports.Book, problem.List, error) {
	w, err := p.openLocked(ctx, f)
	if err != nil {
		return nil, nil, err
	}
	week, ok, err := p.weekPeriod(ctx, w, f, label)
	if err := errors.Join(err, w.Close()); err != nil {
		return nil, nil, err
	}
	return p.booksWithOwn(ctx, f, func(book *reports.Book) (reports.Period, bool) { return book.PeriodOf(week), ok })
}

// leftOutWords says, for the last line, how many own sheets are in no book.
func leftOutWords(problems problem.List) string {
	files := map[string]bool{}
	for _, one := range problems {
		file, _, _ := strings.Cut(one.Place, ":")
		if path.Dir(file) == reports.OwnFolder {
			files[file] = true
		}
	}
	if len(files) == 0 {
		return ""
	}
	return fmt.Sprintf("; %s of the plant's own left out", counted(int64(len(files)), "sheet"))
}

// findReport finds the book or sheet of that name, the plant's own among them. own says
// that it has own sheets, which booksWithOwn must run. A file of that name whose header
// can't be read is the problem, not the name.
func (p *program) findReport(f *folder, name string) (book *reports.Book, own bool, err error) {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return nil, false, err
	}
	sheets, err := reports.ReadOwn(f.path, books, f.settings.Reports.Wages)
	if err != nil {
		return nil, false, err
	}
	book, err = reports.Find(sheets.Join(books), name)
	if err == nil {
		return book, book.HasOwn(), nil
	}
	if faulty := sheets.ProblemsOf(name); len(faulty) > 0 {
		return nil, false, faulty
	}
	return nil, false, err
}

// problemsOf returns the problems of the own sheet of that name.
func problemsOf(list problem.List, name string) problem.List {
	return (&reports.Own{Problems: list}).ProblemsOf(name)
}
