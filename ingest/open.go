package ingest

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"

	"trusstally/ingest/problem"
)

// source is a file that was opened, hashed, and found to be text.
type source struct {
	file   *os.File
	name   string // base name
	sha256 string // of the bytes as they came, in hexadecimal
	marked bool   // begins with a byte order mark
	utf16  bool   // UTF-16, as its mark says; otherwise UTF-8
	again  hash.Hash
}

// openSource opens the file at path and reads it through once: for its hash, and to find
// out whether it is text. What is no file of text is a problem.List; the caller closes
// the source.
func openSource(path string) (*source, error) {
	name := filepath.Base(path)
	file, err := openRegular(path, name)
	if err != nil {
		return nil, err
	}
	s := &source{file: file, name: name}
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

// inspect hashes the bytes and checks that they are text.
func (s *source) inspect() error {
	start := make([]byte, 4)
	n, err := io.ReadFull(s.file, start)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return cannotRead(s.name, err)
	}
	start = start[:n]
	if what := binaryKind(start); what != "" {
		return fileProblem(CodeNotCSV, s.name, "this is "+what+", not a CSV file", "save the sheet as CSV (UTF-8) and import that", nil)
	}
	switch {
	case bytes.HasPrefix(start, []byte("\xef\xbb\xbf")):
		s.marked = true
	case bytes.HasPrefix(start, []byte("\xff\xfe")), bytes.HasPrefix(start, []byte("\xfe\xff")):
		s.marked, s.utf16 = true, true
	}
	sum := sha256.New()
	text, err := s.decoded(sum)
	if err != nil {
		return err
	}
	if err := s.checkText(text); err != nil {
		return err
	}
	s.sha256 = hex.EncodeToString(sum.Sum(nil))
	return nil
}

// binaryKind names what a file is by its first bytes, or returns "".
func binaryKind(start []byte) string {
	for _, kind := range []struct{ magic, name string }{
		{"PK\x03\x04", "a workbook or a zip archive"},
		{"PK\x05\x06", "an empty zip archive"},
		{"\xd0\xcf\x11\xe0", "an old workbook or document"},
		{"%PDF", "a PDF"},
		{"\x1f\x8b", "a compressed file"},
	} {
		if bytes.HasPrefix(start, []byte(kind.magic)) {
			return kind.name
		}
	}
	return ""
}

// text returns the file as UTF-8 from its beginning, without a byte order mark. When it
// was read to its end, unchanged says whether it is still the file that was hashed.
func (s *source) text() (io.Reader, error) {
	s.again = sha256.New()
	return s.decoded(s.again)
}

func (s *source) decoded(sum hash.Hash) (io.Reader, error) {
	if _, err := s.file.Seek(0, io.SeekStart); err != nil {
		return nil, cannotRead(s.name, err)
	}
	raw := io.TeeReader(s.file, sum)
	if s.utf16 {
		return unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Reader(raw), nil
	}
	if s.marked {
		if _, err := io.CopyN(io.Discard, raw, 3); err != nil {
			return nil, cannotRead(s.name, err)
		}
	}
	return raw, nil
}

// unchanged is an error when the bytes that text yielded are not those first hashed: a
// file that is still being copied would be read in part.
func (s *source) unchanged() error {
	if hex.EncodeToString(s.again.Sum(nil)) != s.sha256 {
		return changed(s.name)
	}
	return nil
}

// checkText reads text to its end and finds the first thing in it that is not text.
func (s *source) checkText(text io.Reader) error {
	chunk := make([]byte, 64<<10)
	kept, offset, blank := 0, int64(0), true
	for {
		n, err := text.Read(chunk[kept:])
		if err != nil && !errors.Is(err, io.EOF) {
			return cannotRead(s.name, err)
		}
		whole := chunk[:kept+n]
		if err == nil {
			whole = whole[:wholeCharacters(whole)]
		}
		if at := notText(whole, s.utf16); at >= 0 {
			return s.badText(offset+int64(at), whole[at])
		}
		blank = blank && len(bytes.Trim(whole, blanks)) == 0
		offset += int64(len(whole))
		kept = copy(chunk, chunk[len(whole):kept+n])
		if err != nil {
			break
		}
	}
	if blank {
		return fileProblem(CodeEmptyFile, s.name, "the file is empty", "export it again: the first row must be the header row", nil)
	}
	return nil
}

// wholeCharacters returns how many bytes of text stand before a character that is cut off
// at its end.
func wholeCharacters(text []byte) int {
	for back := 1; back < utf8.UTFMax && back <= len(text); back++ {
		if at := len(text) - back; utf8.RuneStart(text[at]) {
			if utf8.FullRune(text[at:]) {
				break
			}
			return at
		}
	}
	return len(text)
}

// notText returns where text first holds a NUL or what is no character, or -1. The
// decoder of UTF-16 puts U+FFFD for what is no character.
func notText(text []byte, decoded bool) int {
	bad := bytes.IndexByte(text, 0)
	if bad >= 0 {
		text = text[:bad]
	}
	if decoded {
		if at := bytes.Index(text, []byte("\uFFFD")); at >= 0 {
			return at
		}
		return bad
	}
	if utf8.Valid(text) {
		return bad
	}
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRune(text[at:])
		if r == utf8.RuneError && size == 1 {
			return at
		}
		at += size
	}
	return bad
}

// badText reports the byte at offset of the decoded text.
func (s *source) badText(offset int64, b byte) error {
	if b == 0 {
		return fileProblem(CodeNotCSV, s.name, "this is not a text file", "save the sheet as CSV (UTF-8) and import that", nil)
	}
	line, column, err := s.position(offset)
	if err != nil {
		return err
	}
	if s.utf16 {
		return problem.List{{
			Place: fmt.Sprintf("%s:%d:%d", s.name, line, column), What: "not UTF-16 text, as the mark at its beginning says", Code: CodeBadEncoding,
			Hint: "save the file as UTF-8 (in a spreadsheet: CSV UTF-8) and import it again",
		}}
	}
	return problem.List{{
		Place: fmt.Sprintf("%s:%d:%d", s.name, line, column), What: fmt.Sprintf("not UTF-8 text (byte 0x%02X)", b), Code: CodeBadEncoding,
		Hint: "the file is probably in Windows-1252: save it as UTF-8 (in a spreadsheet: CSV UTF-8) and import it again",
	}}
}

// position turns an offset of the decoded text into a line and a column in characters,
// both from 1.
func (s *source) position(offset int64) (line, column int, err error) {
	text, err := s.text()
	if err != nil {
		return 0, 0, err
	}
	in := bufio.NewReader(io.LimitReader(text, offset))
	line, column = 1, 1
	for after := rune(0); ; {
		r, _, err := in.ReadRune()
		switch {
		case errors.Is(err, io.EOF):
			return line, column, nil
		case err != nil:
			return 0, 0, cannotRead(s.name, err)
		case r == '\n' && after == '\r':
		case r == '\n' || r == '\r':
			line, column = line+1, 1
		default:
			column++
		}
		after = r
	}
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
