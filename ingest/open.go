package ingest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"trusstally/ingest/problem"
)

// source is a file that was opened, hashed, and found to be text or a workbook.
type source struct {
	file     *os.File
	name     string    // base name
	sha256   string    // of the bytes as they came, in hexadecimal
	book     *workbook // nil where the file is text
	marked   bool      // text: begins with a byte order mark
	encoding string    // text: utf-16 or windows-1252, "" for UTF-8
	declared string    // encoding that plant.toml declares, which a mark at the beginning overrules
	again    hash.Hash // text: of the bytes that text yields
}

// openSource opens the file at path and reads it through once: for its hash, and to find
// out whether it is text or a workbook. What is neither is a problem.List; the caller
// closes the source. encoding is that of a text without a mark at its beginning, "" for
// UTF-8.
//
// A name may be any bytes; the warehouse holds text.
func openSource(path, encoding string) (*source, error) {
	return openNamed(path, strings.ToValidUTF8(filepath.Base(path), "\uFFFD"), encoding)
}

// openNamed is openSource for a file that goes by another name than its own.
func openNamed(path, name, encoding string) (*source, error) {
	file, err := openRegular(path, name)
	if err != nil {
		return nil, err
	}
	s := &source{file: file, name: name, declared: encoding}
	if err := s.inspect(); err != nil {
		file.Close()
		return nil, err
	}
	return s, nil
}

// openRegular opens a regular file. It follows no link: what stands in an inbox is read
// and archived, and a link could name any file of the machine.
func openRegular(path, name string) (*os.File, error) {
	seen, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fileProblem(CodeNoSuchFile, name, "there is no such file", "check the name and the folder", err)
	}
	if err != nil {
		return nil, cannotRead(name, err)
	}
	if seen.IsDir() {
		return nil, fileProblem(CodeIsAFolder, name, "this is a folder", "name the files in it, one by one or as "+name+"/*.csv", nil)
	}
	if !seen.Mode().IsRegular() {
		return nil, fileProblem(CodeNotAFile, name, "this is a link or a device, not a file", "copy the file itself here", nil)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, cannotRead(name, err)
	}
	if opened, err := file.Stat(); err != nil || !os.SameFile(seen, opened) {
		file.Close()
		return nil, changed(name)
	}
	return file, nil
}

// inspect finds out what the file is by its first bytes, whatever its name ends in.
func (s *source) inspect() error {
	start := make([]byte, 8)
	n, err := io.ReadFull(s.file, start)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return cannotRead(s.name, err)
	}
	start = start[:n]
	switch {
	case bytes.HasPrefix(start, []byte("PK\x03\x04")):
		return s.inspectArchive()
	case bytes.HasPrefix(start, []byte("\xd0\xcf\x11\xe0")):
		return s.inspectCompound()
	}
	if what := binaryKind(start); what != "" {
		return notReadable(s.name, what)
	}
	return s.inspectText(start)
}

// binaryKind names what a file is by its first bytes, or returns "".
func binaryKind(start []byte) string {
	for _, kind := range []struct{ magic, name string }{
		{"PK\x05\x06", "an empty zip archive"},
		{"%PDF", "a PDF"},
		{"\x1f\x8b", "a compressed file"},
	} {
		if bytes.HasPrefix(start, []byte(kind.magic)) {
			return kind.name
		}
	}
	return ""
}

// rows returns the rows of the file. Which sheet of a workbook holds the feed is settled
// here; a workbook that leaves it open is a problem.List.
func (s *source) rows(feed Feed, opts Options) (rowSource, error) {
	if s.book != nil {
		return s.book.rows(feed, opts.Sheet)
	}
	return newTextRows(s, opts.Reading.delimiter())
}

// hashed returns the SHA-256 of the file's bytes, which also go to w as they are read.
func (s *source) hashed(w io.Writer) (string, error) {
	if _, err := s.file.Seek(0, io.SeekStart); err != nil {
		return "", cannotRead(s.name, err)
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(sum, w), s.file); err != nil {
		return "", cannotRead(s.name, err)
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

func notReadable(name, what string) problem.List {
	return fileProblem(CodeNotCSV, name, "this is "+what+", neither a CSV file nor an XLSX workbook", "save the sheet as .xlsx or as CSV (UTF-8) and import that", nil)
}

func fileProblem(code, name, what, hint string, cause error) problem.List {
	return problem.List{{Place: name, What: what, Code: code, Hint: hint, Cause: cause}}
}

func cannotRead(name string, cause error) problem.List {
	return fileProblem(CodeCannotRead, name, "the file cannot be read", "check its permissions, and that no other program holds it", cause)
}

func changed(name string) problem.List {
	return fileProblem(CodeFileChanged, name, "the file changed while it was read", "wait until it is written whole and import it again", nil)
}
