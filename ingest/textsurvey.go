package ingest

import (
	"bytes"
	"encoding/binary"
	"unicode/utf8"
)

// textSurvey is what a first look at the whole of a text tells of it: whether each of its
// lines is one row, so that the engine may read it by itself on all cores and the number of
// a row is the number of its line. It looks for single bytes and pairs, which costs a
// fraction of reading cells.
type textSurvey struct {
	delimiter  byte
	bytes      int64
	newlines   int64
	returns    int64 // carriage returns, each before a line feed unless odd
	delimiters int64 // those within quotes left out
	quoted     bool  // some cell is in quotes
	spaced     bool  // some cell has a ' ' at an end of it, or within quotes
	rare       bool  // there are other blanks, wherever
	odd        bool  // it has what only the framer reads: see observe
	last       byte  // of what was seen so far
	quote      standing
	sinceLine  int // bytes since a line ended
}

func newTextSurvey(delimiter byte) *textSurvey {
	return &textSurvey{delimiter: delimiter, last: '\n'}
}

// surveyPart is how much of a text is looked at in one go, at the most.
const surveyPart = longestRow / 2

// observe looks at the next part of the text, of surveyPart bytes at the most.
//
// Odd is a carriage return that ends a line by itself, a blank line, a quote within a cell
// that does not begin with one or after its end, a line end within quotes, and a line that
// may be longer than a row can be.
func (s *textSurvey) observe(part []byte) {
	if len(part) == 0 || s.odd {
		return
	}
	s.bytes += int64(len(part))
	s.newlines += int64(bytes.Count(part, []byte{'\n'}))
	s.measureLines(part)
	if s.last == '\r' && part[0] != '\n' {
		s.odd = true
	}
	if at := bytes.IndexByte(part, '\r'); at >= 0 {
		s.takeReturns(part[at:])
	}
	if s.quoted || bytes.IndexByte(part, '"') >= 0 {
		s.takeQuotes(part)
	} else {
		s.delimiters += int64(bytes.Count(part, []byte{s.delimiter}))
	}
	if s.last == '\n' && (part[0] == '\n' || part[0] == '\r') || bytes.Contains(part, []byte("\n\n")) || bytes.Contains(part, []byte("\n\r")) {
		s.odd = true
	}
	s.takeBlanks(part)
	s.last = part[len(part)-1]
}

// measureLines sees to it that no line can be longer than a row may be: a line that begins
// and ends within one part cannot, for parts are shorter.
func (s *textSurvey) measureLines(part []byte) {
	end := bytes.IndexByte(part, '\n')
	if end < 0 {
		end = len(part)
	}
	s.odd = s.odd || s.sinceLine+end > longestRow
	if end == len(part) {
		s.sinceLine += len(part)
	} else {
		s.sinceLine = len(part) - 1 - bytes.LastIndexByte(part, '\n')
	}
}

// takeReturns counts the carriage returns of a part that has some.
func (s *textSurvey) takeReturns(part []byte) {
	returns := bytes.Count(part, []byte{'\r'})
	pairs := bytes.Count(part, []byte("\r\n"))
	if part[len(part)-1] == '\r' { // its line feed may be in the next part
		pairs++
	}
	s.returns += int64(returns)
	s.odd = s.odd || returns != pairs
}

// takeQuotes counts the delimiters that part cells, and looks whether quotes stand where
// they should. Up to the first quote of the text all that stood before it was plain.
func (s *textSurvey) takeQuotes(part []byte) {
	if !s.quoted {
		s.quoted, s.quote = true, inPlain
		if s.last == s.delimiter || s.last == '\n' {
			s.quote = atStart
		}
	}
	for _, b := range part {
		switch {
		case s.quote == inQuoted:
			switch b {
			case '"':
				s.quote = atQuote
			case '\n', '\r':
				s.odd = true
			}
		case b == s.delimiter:
			s.delimiters++
			s.quote = atStart
		case b == '\n':
			s.quote = atStart
		case b == '\r': // takeReturns sees to it that a line feed follows
		case b == '"' && (s.quote == atStart || s.quote == atQuote):
			s.quote = inQuoted
		case b == '"' || s.quote == atQuote:
			s.odd = true
		default:
			s.quote = inPlain
		}
	}
}

// takeBlanks finds out what a cell of the part may begin or end with that trimBlanks takes off.
func (s *textSurvey) takeBlanks(part []byte) {
	if !s.rare {
		s.rare = s.rareBlanks(part)
	}
	if s.spaced || bytes.IndexByte(part, ' ') < 0 && s.last != ' ' {
		return
	}
	s.spaced = s.edge(s.last) && part[0] == ' ' || s.last == ' ' && s.edge(part[0])
	for _, edge := range []byte{s.delimiter, '\n', '\r', '"'} {
		if s.spaced || edge == '\r' && s.returns == 0 || edge == '"' && !s.quoted {
			continue
		}
		s.spaced = bytes.Contains(part, []byte{edge, ' '}) || bytes.Contains(part, []byte{' ', edge})
	}
}

// edge says whether a cell may end before b or begin after it.
func (s *textSurvey) edge(b byte) bool { return b == s.delimiter || b == '\n' || b == '\r' || b == '"' }

// rareBlanks says whether a part holds, wherever, one of the blanks other than ' ', or may
// hold the beginning of one whose end is in the next part.
func (s *textSurvey) rareBlanks(part []byte) bool {
	for _, blank := range []byte("\t\v\f") {
		if blank != s.delimiter && bytes.IndexByte(part, blank) >= 0 {
			return true
		}
	}
	if ascii(part) {
		return false
	}
	for _, blank := range blanks {
		if blank >= utf8.RuneSelf && bytes.Contains(part, utf8.AppendRune(nil, blank)) {
			return true
		}
	}
	return !utf8.Valid(part) // the text is valid: a character is cut at an end of the part
}

// ascii says whether a text is of ASCII alone.
func ascii(text []byte) bool {
	for ; len(text) >= 8; text = text[8:] {
		if binary.LittleEndian.Uint64(text)&0x8080808080808080 != 0 {
			return false
		}
	}
	for _, b := range text {
		if b >= 0x80 {
			return false
		}
	}
	return true
}

// padded says whether a cell of the text may begin or end with a ' '.
func (s *textSurvey) padded() bool { return s.spaced || s.last == ' ' }

// rows is how many rows stand after a header row on the first line, each on a line of its
// own with so many cells; ok is false where it cannot be told without framing them.
func (s *textSurvey) rows(cells int) (rows int64, ok bool) {
	lines := s.newlines
	if s.last != '\n' {
		lines++
	}
	switch {
	case s.odd || s.bytes == 0, s.last == '\r', s.quoted && s.quote == inQuoted, s.returns > 0 && s.returns != s.newlines:
		return 0, false
	case s.delimiters != lines*int64(cells-1):
		return 0, false
	}
	return lines - 1, true
}
