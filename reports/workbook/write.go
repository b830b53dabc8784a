package workbook

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/xuri/excelize/v2"
)

// Write writes the book as .xlsx. It walks the rows of every sheet, in order, before it
// writes the first byte. An error says in which sheet, row and column; the rows' own errors
// are wrapped in it. After an error of the writer itself, w holds part of a file.
func Write(w io.Writer, book Book) (failed error) {
	plans, err := planBook(book)
	defer func() { failed = errors.Join(failed, closePlans(plans)) }()
	if err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	file := excelize.NewFile()
	var written parts
	var instead replacements
	defer func() { failed = errors.Join(failed, file.Close(), written.close()) }()
	if err := fill(file, book, plans, &instead); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	file.SetZipWriter(func(io.Writer) excelize.ZipWriter { return &written })
	if err := file.Write(io.Discard); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	if err := written.writeZip(w, &instead); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	return nil
}

// UnfinishedPrefix begins the temporary name under which WriteFile writes. A process that is
// killed leaves such a file.
const UnfinishedPrefix = ".unfinished-"

// WriteFile writes the book to a file of this mode, whatever the umask. It is written under
// a temporary name beside it and renamed: the file at path is the old one or the whole new
// one.
func WriteFile(path string, mode os.FileMode, book Book) (failed error) {
	file, err := os.CreateTemp(filepath.Dir(path), UnfinishedPrefix+"*.xlsx")
	if err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	defer func() {
		if failed != nil {
			failed = errors.Join(failed, os.Remove(file.Name()))
		}
	}()
	err = Write(file, book)
	if err == nil {
		err = errors.Join(file.Chmod(mode), file.Sync())
	}
	if err = errors.Join(err, file.Close()); err != nil {
		return err
	}
	if err := os.Rename(file.Name(), path); err != nil {
		return err
	}
	// The new name is to outlast a loss of power; systems that can't write a folder do it by
	// themselves.
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return nil
	}
	folder.Sync()
	return folder.Close()
}

// fill writes properties and sheets into the library's file.
func fill(file *excelize.File, book Book, plans []*plan, instead *replacements) error {
	if err := file.SetDefaultFont(bodyFont); err != nil {
		return err
	}
	created := book.Created.UTC().Format(time.RFC3339)
	if err := file.SetDocProps(&excelize.DocProperties{
		Title: book.Title, Subject: book.Subject, Creator: book.Author, LastModifiedBy: book.Author,
		Created: created, Modified: created,
	}); err != nil {
		return err
	}
	for i, p := range plans {
		var err error
		if i == 0 {
			err = file.SetSheetName(file.GetSheetName(0), p.Name)
		} else {
			_, err = file.NewSheet(p.Name)
		}
		if err != nil {
			return fmt.Errorf("sheet %q: %w", p.Name, err)
		}
	}
	file.SetActiveSheet(0)
	styles := newStyleSheet(file)
	for i, p := range plans {
		writer := sheetWriter{plan: p, file: file, styles: styles, number: i + 1, plans: plans, charts: instead}
		if err := writer.write(book.Footer); err != nil {
			return fmt.Errorf("sheet %q: %w", p.Name, err)
		}
	}
	return nil
}
