package workbook

import (
	"errors"
	"fmt"
	"io"
	"iter"
)

// Shelf keeps the rows of several sheets until a book is written of them: in memory up to
// four MiB, beyond that in a temporary file that only this user can read. The zero Shelf is
// empty. Put everything on it before the first Rows; then sheets may be read side by side.
// Close it.
type Shelf struct {
	data   spill
	sheets map[string]*shelved
	record []byte // reused for each row
}

// shelved is the rows of one sheet, which lie together.
type shelved struct {
	columns, rows int
	begin, end    int64
}

// Put takes the rows of a sheet of so many columns, as Sheet.Rows gives them: nil, string,
// Number or time.Time (whole seconds). A name is put once.
func (s *Shelf) Put(sheet string, columns int, rows iter.Seq2[[]any, error]) error {
	if s.sheets[sheet] != nil {
		return fmt.Errorf("the sheet %s is on the shelf already", sheet)
	}
	kept := &shelved{columns: columns, begin: s.data.size}
	for row, err := range rows {
		if err == nil && len(row) != columns {
			err = fmt.Errorf("%d cells for %d columns", len(row), columns)
		}
		if err == nil {
			s.record, err = appendRow(s.record[:0], row)
		}
		if err == nil {
			_, err = s.data.Write(s.record)
		}
		if err != nil {
			return err
		}
		kept.rows++
	}
	kept.end = s.data.size
	if s.sheets == nil {
		s.sheets = map[string]*shelved{}
	}
	s.sheets[sheet] = kept
	// What is written is on its place from here on: readers only read.
	return s.data.flush()
}

// Rows gives the rows of a sheet in the order in which they were put; the row is reused. It
// is an error if the sheet was never put.
func (s *Shelf) Rows(sheet string) iter.Seq2[[]any, error] {
	return func(yield func([]any, error) bool) {
		kept := s.sheets[sheet]
		if kept == nil {
			yield(nil, fmt.Errorf("the sheet %s is not on the shelf", sheet))
			return
		}
		stopped := errors.New("stopped")
		source, err := s.data.reader()
		if err == nil {
			err = readRows(io.NewSectionReader(source, kept.begin, kept.end-kept.begin), kept.columns, kept.rows, func(_ int, row []any) error {
				if !yield(row, nil) {
					return stopped
				}
				return nil
			})
		}
		if err != nil && err != stopped {
			yield(nil, err)
		}
	}
}

// Close gives back memory and file.
func (s *Shelf) Close() error { return s.data.close() }
