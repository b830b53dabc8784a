package ingest

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"trusstally/ingest/problem"
)

// deepestXML bounds how deep the elements of a part may stand in each other: a real one
// needs a tenth of it.
const deepestXML = 100

// xmlPart reads one part of a workbook, token by token. Its errors are problem.Lists: a
// part that cannot be read to its end makes the whole file unreadable, for what is missing
// could be any row of it.
type xmlPart struct {
	book    *workbook
	name    string
	body    *boundedPart
	decoder *xml.Decoder
	path    []string // local names of the elements that are open, outermost first
}

// openPart opens a part of the workbook, of at most `most` bytes.
func (b *workbook) openPart(name string, most int64) (*xmlPart, error) {
	file := b.parts[strings.ToLower(name)]
	if file == nil {
		return nil, b.damagedPart(name, partFault("it is not in the file"))
	}
	if file.UncompressedSize64 > uint64(min(most, b.left)) {
		return nil, b.damagedPart(name, errTooLarge)
	}
	in, err := file.Open()
	if err != nil {
		return nil, b.damagedPart(name, err)
	}
	body := &boundedPart{in: in, most: most, left: &b.left}
	return &xmlPart{book: b, name: name, body: body, decoder: xml.NewDecoder(body)}, nil
}

// next returns the next start element, end element or text, and io.EOF at the end of the
// part. After a start element and before an end element the path includes it.
func (p *xmlPart) next() (xml.Token, error) {
	for {
		p.body.read = 0
		token, err := p.decoder.Token()
		if errors.Is(err, io.EOF) {
			return nil, io.EOF
		}
		if err != nil {
			return nil, p.book.damagedPart(p.name, err)
		}
		switch element := token.(type) {
		case xml.StartElement:
			if len(p.path) == deepestXML {
				return nil, p.book.damagedPart(p.name, partFault("its elements stand too deep in each other"))
			}
			p.path = append(p.path, element.Name.Local)
			return element, nil
		case xml.EndElement, xml.CharData:
			return token, nil
		}
	}
}

// end takes an end element off the path.
func (p *xmlPart) end() { p.path = p.path[:len(p.path)-1] }

// within says whether the innermost open elements are those.
func (p *xmlPart) within(names ...string) bool {
	return len(p.path) >= len(names) && slices.Equal(p.path[len(p.path)-len(names):], names)
}

// each reads the part to its end and calls visit with each start element. visit may read
// on, up to that element's end.
func (p *xmlPart) each(visit func(xml.StartElement) error) error {
	for {
		token, err := p.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		switch element := token.(type) {
		case xml.StartElement:
			if err := visit(element); err != nil {
				return err
			}
		case xml.EndElement:
			p.end()
		}
	}
}

// plainText reads to the end of the element that was begun last, and returns the text in
// it: of its t elements where rich is set (those of phonetic hints left out), else its own.
// The end element is taken, and off the path.
func (p *xmlPart) plainText(rich bool) (string, error) {
	depth := len(p.path)
	var text strings.Builder
	for {
		token, err := p.next()
		if errors.Is(err, io.EOF) {
			return "", p.book.damagedPart(p.name, io.ErrUnexpectedEOF)
		}
		if err != nil {
			return "", err
		}
		switch element := token.(type) {
		case xml.CharData:
			if rich && (!p.within("t") || slices.Contains(p.path[depth:], "rPh")) || !rich && len(p.path) != depth {
				continue
			}
			text.Write(element)
		case xml.EndElement:
			p.end()
			if len(p.path) < depth {
				return text.String(), nil
			}
		}
	}
}

// attribute returns an element's attribute by its local name, "" where it has none.
func attribute(element xml.StartElement, name string) string {
	for _, a := range element.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// trueAttribute says whether an attribute is set.
func trueAttribute(element xml.StartElement, name string) bool {
	value, err := strconv.ParseBool(attribute(element, name))
	return err == nil && value
}

// damagedPart turns what the archive or the XML is refused for into what a person reads.
func (b *workbook) damagedPart(name string, cause error) problem.List {
	switch {
	case errors.Is(cause, errTooLarge):
		return tooLarge(b.source.name, "the workbook unzips to more than any real one ("+name+")", cause)
	case errors.Is(cause, errHugePiece):
		return tooLarge(b.source.name, fmt.Sprintf("a cell or tag of the workbook is longer than %d MiB (%s)", mostPiece>>20, name), cause)
	case errors.Is(cause, errUnderstated):
		return tooLarge(b.source.name, "the workbook is larger unzipped than it says ("+name+")", cause)
	}
	what := "its bytes are damaged"
	var fault partFault
	var syntax *xml.SyntaxError
	switch {
	case errors.As(cause, &fault):
		what = string(fault)
	case errors.As(cause, &syntax), errors.Is(cause, io.ErrUnexpectedEOF):
		what = "it is cut off or no XML"
	}
	return damaged(b.source.name, fmt.Sprintf("%s (%s)", what, name), cause)
}

// partFault is what is wrong with a part whose XML is sound.
type partFault string

func (f partFault) Error() string { return string(f) }

const damagedHint = "copy or export it again; or open it, save it as .xlsx, and import that"

func damaged(name, what string, cause error) problem.List {
	return fileProblem(CodeBadWorkbook, name, "the workbook is damaged: "+what, damagedHint, cause)
}

func tooLarge(name, what string, cause error) problem.List {
	return fileProblem(CodeTooLarge, name, what, "copy the rows of the feed into a new workbook, or save the sheet as CSV (UTF-8)", cause)
}
