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
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"trusstally/ingest/problem"
)

// inspectText hashes the bytes and checks that they are text. start is how they begin.
func (s *source) inspectText(start []byte) error {
	switch {
	case bytes.HasPrefix(start, []byte("\xef\xbb\xbf")):
		s.marked = true
	case bytes.HasPrefix(start, []byte("\xff\xfe")), bytes.HasPrefix(start, []byte("\xfe\xff")):
		s.marked, s.encoding = true, "utf-16"
	case s.declared != "utf-8":
		s.encoding = s.declared
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
	switch s.encoding {
	case "utf-16": // of either order by its mark, without one little-endian
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(raw), nil
	case "windows-1252":
		return charmap.Windows1252.NewDecoder().Reader(raw), nil
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
		if at := notText(whole, s.encoding != ""); at >= 0 {
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
// decoders put U+FFFD for what is no character.
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
		return fileProblem(CodeNotCSV, s.name, "this is not a text file", "save the sheet as .xlsx or as CSV (UTF-8) and import that", nil)
	}
	line, column, err := s.position(offset)
	if err != nil {
		return err
	}
	if s.encoding != "" {
		what := map[string]string{"utf-16": "not UTF-16 text", "windows-1252": "not Windows-1252 text"}[s.encoding] + ", as plant.toml says"
		if s.marked {
			what = "not UTF-16 text, as the mark at its beginning says"
		}
		return problem.List{{
			Place: fmt.Sprintf("%s:%d:%d", s.name, line, column), What: what, Code: CodeBadEncoding,
			Hint: "save the file as UTF-8 (in a spreadsheet: CSV UTF-8) and import it again",
		}}
	}
	return problem.List{{
		Place: fmt.Sprintf("%s:%d:%d", s.name, line, column), What: fmt.Sprintf("not UTF-8 text (byte 0x%02X)", b), Code: CodeBadEncoding,
		Hint: "the file is probably in Windows-1252: save it as UTF-8 (in a spreadsheet: CSV UTF-8), or say encoding = \"windows-1252\" for the feed in plant.toml",
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
