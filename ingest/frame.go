package ingest

import (
	"bufio"
	"errors"
	"fmt"
	"io"
)

// longestRow bounds the bytes of one row. A row of a plant's records is a few hundred;
// what is longer is a quote gone wrong, and must not fill the memory.
const longestRow = 256 << 10

// mostCells bounds the cells of one row, as the format of workbooks does.
const mostCells = widestSheet

// framer cuts UTF-8 text into records as RFC 4180 has it: cells parted by commas or another mark, a cell
// that begins with a quote ends with one, and two quotes inside it stand for one. CRLF, CR
// and LF all end a line, also mixed; inside a quoted cell they become LF. A quote inside a
// cell that does not begin with one is text: 12'6 1/2" is a length.
type framer struct {
	in        *bufio.Reader
	delimiter byte   // between cells: a comma, unless the plant's files have another
	line      int    // physical line of the next byte
	text      []byte // the record's cells, one after the other
	ends      []int  // where each cell ends in text
	out       [][]byte
}

// newFramer frames the text that r yields.
func newFramer(r io.Reader) *framer {
	return &framer{in: bufio.NewReaderSize(r, 64<<10), delimiter: ',', line: 1}
}

// unterminatedQuote is the error of a quote that is never closed.
type unterminatedQuote struct {
	line     int // physical line of the quote
	cell     int // its cell, from 0
	swallows int // physical lines after that one
}

func (u *unterminatedQuote) Error() string {
	return fmt.Sprintf("line %d: a quote is never closed", u.line)
}

// Where the framer stands within a cell.
type standing int

const (
	atStart  standing = iota // before the first byte of a cell
	inPlain                  // inside a cell without quotes
	inQuoted                 // inside a quoted cell
	atQuote                  // after a quote inside a quoted cell: its end, or half of a doubled one
)

// next returns the next record, io.EOF after the last, or an *unterminatedQuote.
func (f *framer) next() (record, error) {
	f.text, f.ends = f.text[:0], f.ends[:0]
	r := record{line: f.line}
	at, quoteLine, lastByte, read := atStart, 0, byte(0), false
	for {
		b, err := f.in.ReadByte()
		if errors.Is(err, io.EOF) {
			switch {
			case at == inQuoted:
				swallows := f.line - quoteLine
				if lastByte == '\n' && swallows > 0 {
					swallows--
				}
				return r, &unterminatedQuote{line: quoteLine, cell: len(f.ends), swallows: swallows}
			case !read:
				return r, io.EOF
			}
			f.endCell(&r)
			return f.finish(r, f.line), nil
		}
		if err != nil {
			return r, err
		}
		read = true
		if b == '\r' {
			b = f.newline()
		}
		lastByte = b
		here := f.line
		if b == '\n' {
			f.line++
		}
		switch at {
		case inQuoted:
			if b == '"' {
				at = atQuote
			} else {
				f.keep(&r, b)
			}
			continue
		case atQuote:
			if b == '"' {
				f.keep(&r, b)
				at = inQuoted
				continue
			}
			if b != f.delimiter && b != '\n' {
				if r.fault == "" {
					r.fault, r.faultCell, r.faultAt = CodeStrayQuote, len(f.ends), len(f.text)-f.cellStart()
				}
				f.keep(&r, '"')
			}
			at = inPlain
		case atStart:
			if b == '"' {
				at, quoteLine = inQuoted, here
				continue
			}
			at = inPlain
		}
		switch b {
		case f.delimiter:
			f.endCell(&r)
			at = atStart
		case '\n':
			f.endCell(&r)
			return f.finish(r, here), nil
		default:
			f.keep(&r, b)
		}
	}
}

// newline takes the LF of a CRLF; a CR alone ends a line as well.
func (f *framer) newline() byte {
	if following, err := f.in.Peek(1); err == nil && following[0] == '\n' {
		f.in.Discard(1)
	}
	return '\n'
}

func (f *framer) keep(r *record, b byte) {
	if len(f.text) == longestRow {
		r.fault = CodeRowTooLong
		return
	}
	f.text = append(f.text, b)
}

// cellStart is where the text of the cell begins that is being read.
func (f *framer) cellStart() int {
	if len(f.ends) == 0 {
		return 0
	}
	return f.ends[len(f.ends)-1]
}

// endCell ends a cell; what stands after the last one that a row may have is dropped.
func (f *framer) endCell(r *record) {
	if len(f.ends) == mostCells {
		r.fault = CodeRowTooLong
		return
	}
	f.ends = append(f.ends, len(f.text))
}

func (f *framer) finish(r record, lastLine int) record {
	f.out = f.out[:0]
	start, whole := 0, len(f.text)
	if r.fault == CodeRowTooLong { // the last character may be cut in two
		whole = wholeCharacters(f.text)
	}
	for _, end := range f.ends {
		end = min(end, whole)
		f.out = append(f.out, f.text[start:end])
		start = end
	}
	r.cells, r.lines = f.out, lastLine-r.line+1
	return r
}
