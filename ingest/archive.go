package ingest

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Limits of a workbook. The largest feed of a plant, five years of punches, unzips to a
// quarter of them; what is larger was made to fill the memory.
const (
	mostZipped   = 256 << 20 // bytes of the file
	mostUnzipped = 256 << 20 // bytes of all parts that are read, unzipped
	mostTexts    = 64 << 20  // bytes of the shared texts, which are held in memory
	mostListed   = 8 << 20   // bytes of the archive that are read for the list of its parts
	mostPiece    = 2 << 20   // bytes of one piece of a part: a tag, or the text between two
	mostShared   = 2_000_000 // shared texts, each of which takes memory though it be blank
	mostRows     = 1_000_000 // the last row of a sheet
	widestSheet  = 16_384    // columns, as the format has it
)

// The parts by which an archive is known.
const (
	contentTypesPart = "[content_types].xml"
	workbookPart     = "xl/workbook.xml"
)

// inspectArchive finds out whether a zip archive is a workbook, and hashes it.
func (s *source) inspectArchive() error {
	size, err := s.file.Seek(0, io.SeekEnd)
	if err != nil {
		return cannotRead(s.name, err)
	}
	if size > mostZipped {
		return tooLarge(s.name, fmt.Sprintf("the file is larger than %d MiB", mostZipped>>20), nil)
	}
	list := &listReader{in: s.file, left: mostListed}
	archive, err := zip.NewReader(list, size)
	if errors.Is(err, errTooLarge) {
		return tooLarge(s.name, "the list of the workbook's parts is longer than any real one", err)
	}
	list.left = -1
	if err != nil {
		return fileProblem(CodeBadWorkbook, s.name, "the workbook or archive is cut off: its end is missing", damagedHint, err)
	}
	parts := map[string]*zip.File{}
	for _, part := range archive.File {
		// Names of parts are without case; some writers part folders as Windows does.
		name := strings.ToLower(strings.ReplaceAll(part.Name, `\`, "/"))
		if parts[name] != nil {
			return damaged(s.name, "a part is in it twice ("+shorten(part.Name, longestCellShown)+")", nil)
		}
		parts[name] = part
	}
	if parts[contentTypesPart] == nil || parts[workbookPart] == nil {
		return notReadable(s.name, archiveKind(parts))
	}
	s.book = &workbook{source: s, parts: parts, left: mostUnzipped}
	s.sha256, err = s.hashed(io.Discard)
	return err
}

// archiveKind names an archive that is no XLSX workbook.
func archiveKind(parts map[string]*zip.File) string {
	switch {
	case parts["xl/workbook.bin"] != nil:
		return "a binary workbook (.xlsb)"
	case parts["content.xml"] != nil && parts["mimetype"] != nil:
		return "an OpenDocument file (.ods)"
	case parts["word/document.xml"] != nil:
		return "a text document"
	default:
		return "a zip archive"
	}
}

// inspectCompound refuses a compound file: the old binary workbook, or an XLSX workbook
// that is encrypted, which has a stream of that name in its directory.
func (s *source) inspectCompound() error {
	encrypted := &finder{want: utf16Text("EncryptedPackage")}
	if _, err := s.hashed(encrypted); err != nil {
		return err
	}
	if encrypted.found {
		return fileProblem(CodePasswordProtected, s.name, "the workbook is protected by a password", "open it, save a copy without the password, and import that", nil)
	}
	return notReadable(s.name, "an old binary workbook (.xls) or document")
}

// utf16Text is a plain text in UTF-16, low byte first.
func utf16Text(plain string) []byte {
	var text []byte
	for _, b := range []byte(plain) {
		text = append(text, b, 0)
	}
	return text
}

// finder looks for bytes in all that is written to it.
type finder struct {
	want, kept []byte
	found      bool
}

func (f *finder) Write(b []byte) (int, error) {
	f.kept = append(f.kept, b...)
	f.found = f.found || bytes.Contains(f.kept, f.want)
	f.kept = append(f.kept[:0], f.kept[max(0, len(f.kept)-len(f.want)+1):]...)
	return len(b), nil
}

// errTooLarge is what a part's reader returns beyond the limits; errHugePiece, when a tag or
// the text between two is beyond its own; errUnderstated, when the part is larger than the
// archive says it is.
var (
	errTooLarge    = errors.New("the part unzips to more than the limit")
	errHugePiece   = errors.New("a piece of the part is larger than the limit")
	errUnderstated = errors.New("the part unzips to more than the archive says")
)

// listReader reads an archive, at first within a limit: each part that it lists takes memory,
// whatever the archive says of their number.
type listReader struct {
	in   io.ReaderAt
	left int64 // bytes that may yet be read, or -1 for any number
}

func (l *listReader) ReadAt(into []byte, at int64) (int, error) {
	n, err := l.in.ReadAt(into, at)
	if l.left < 0 {
		return n, err
	}
	if int64(n) > l.left {
		return 0, errTooLarge
	}
	l.left -= int64(n)
	return n, err
}

// boundedPart reads an unzipped part, within the limits.
type boundedPart struct {
	in   io.ReadCloser
	most int64  // bytes that this part may have
	read int64  // bytes of it since its last token
	left *int64 // bytes that this and all further parts may have
}

func (b *boundedPart) Read(into []byte) (int, error) {
	n, err := b.in.Read(into)
	b.most -= int64(n)
	*b.left -= int64(n)
	b.read += int64(n)
	if b.most < 0 || *b.left < 0 {
		return 0, errTooLarge
	}
	if b.read > mostPiece {
		return 0, errHugePiece
	}
	// While it reads, the archive's reader uses this error for nothing else.
	if errors.Is(err, zip.ErrFormat) {
		return 0, errUnderstated
	}
	return n, err
}

func (b *boundedPart) Close() error { return b.in.Close() }
