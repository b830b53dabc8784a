package recalculation

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

// ErrNoProgram says that LibreOffice is not on this machine.
var ErrNoProgram = errors.New("neither soffice nor libreoffice is installed")

// Available says whether Recalculate can work: nil or ErrNoProgram.
func Available() error {
	_, err := program()
	return err
}

func program() (string, error) {
	for _, name := range []string{"soffice", "libreoffice"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", ErrNoProgram
}

// Recalculate has LibreOffice work out every formula of an .xlsx book, and returns the book
// as LibreOffice saves it. The stored results are taken out first: LibreOffice would trust
// them. scratch is an empty folder of the caller's, which also holds the program's profile.
func Recalculate(ctx context.Context, scratch string, book []byte) ([]byte, error) {
	books, err := RecalculateAll(ctx, scratch, [][]byte{book})
	if err != nil {
		return nil, err
	}
	return books[0], nil
}

// RecalculateAll is Recalculate for several books in one start of the program.
func RecalculateAll(ctx context.Context, scratch string, books [][]byte) ([][]byte, error) {
	path, err := program()
	if err != nil {
		return nil, err
	}
	results := filepath.Join(scratch, "recalculated")
	arguments := []string{
		"-env:UserInstallation=file://" + filepath.ToSlash(filepath.Join(scratch, "profile")),
		"--headless", "--norestore", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", results,
	}
	for i, book := range books {
		stripped, err := withoutResults(book)
		if err != nil {
			return nil, err
		}
		source := filepath.Join(scratch, bookName(i))
		if err := os.WriteFile(source, stripped, 0o600); err != nil {
			return nil, err
		}
		arguments = append(arguments, source)
	}
	if said, err := exec.CommandContext(ctx, path, arguments...).CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%s: %w: %s", filepath.Base(path), err, said)
	}
	recalculated := make([][]byte, len(books))
	for i := range books {
		if recalculated[i], err = os.ReadFile(filepath.Join(results, bookName(i))); err != nil {
			return nil, err
		}
	}
	return recalculated, nil
}

func bookName(i int) string { return fmt.Sprintf("book%d.xlsx", i) }

// withoutResults takes the stored results out of the cells that have formulas.
func withoutResults(book []byte) ([]byte, error) {
	archive, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		return nil, err
	}
	result := regexp.MustCompile(`(</f>)<v>[^<]*</v>`)
	var stripped bytes.Buffer
	target := zip.NewWriter(&stripped)
	for _, part := range archive.File {
		content, err := readPart(part)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", part.Name, err)
		}
		if strings.HasPrefix(part.Name, "xl/worksheets/sheet") {
			content = result.ReplaceAll(content, []byte("$1"))
		}
		entry, err := target.Create(part.Name)
		if err != nil {
			return nil, err
		}
		if _, err := entry.Write(content); err != nil {
			return nil, err
		}
	}
	if err := target.Close(); err != nil {
		return nil, err
	}
	return stripped.Bytes(), nil
}

func readPart(part *zip.File) ([]byte, error) {
	reader, err := part.Open()
	if err != nil {
		return nil, err
	}
	content, err := io.ReadAll(reader)
	return content, errors.Join(err, reader.Close())
}
