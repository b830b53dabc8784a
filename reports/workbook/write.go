package workbook

import (
	"errors"
	"fmt"
	"io"
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

// fill writes properties and sheets into the library's file.
func fill(file *excelize.File, book Book, plans []*plan, instead *replacements) error {
	if err := file.SetDefaultFont(bodyFont); err != nil {
		return err
	}
	created := book.Created.UTC().Format(time.RFC3339)
	if err := file.SetDocProps(&excelize.DocProperties{
		Title: book.Title, Subject: book.Subject, Creator: book.Author, Language: "en-US", LastModifiedBy: book.Author,
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
