package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"time"
)

// parts takes the files that the xlsx library would zip. The library writes them in an order
// that varies from run to run; kept here, they are zipped again in one that does not.
type parts struct {
	names []string
	data  []*spill
}

// Create is part of the library's interface of a zip writer, as are AddFS and Close.
func (p *parts) Create(name string) (io.Writer, error) {
	p.names = append(p.names, name)
	p.data = append(p.data, &spill{})
	return p.data[len(p.data)-1], nil
}

func (p *parts) AddFS(fs.FS) error { return errors.New("no file system is part of a book") }

func (p *parts) Close() error { return nil }

func (p *parts) close() error {
	var failed error
	for _, data := range p.data {
		failed = errors.Join(failed, data.close())
	}
	return failed
}

// zipTime stands on every part: the earliest that a zip can say.
func zipTime() time.Time { return time.Date(1980, time.January, 1, 0, 0, 0, 0, time.UTC) }

// replacements are parts that stand in for the library's.
type replacements struct {
	charts [][]byte // in the order in which the library was asked for them
}

func (r *replacements) add(chart []byte) { r.charts = append(r.charts, chart) }

// of is the replacement of a part, or nil.
func (r *replacements) of(name string) []byte {
	for i, chart := range r.charts {
		if name == fmt.Sprintf("xl/charts/chart%d.xml", i+1) {
			return chart
		}
	}
	return nil
}

// writeZip writes the parts sorted by name.
func (p *parts) writeZip(target io.Writer, instead *replacements) error {
	order := make([]int, len(p.names))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return strings.Compare(p.names[a], p.names[b]) })
	archive := zip.NewWriter(target)
	for _, index := range order {
		if err := p.writePart(archive, index, instead); err != nil {
			return fmt.Errorf("%s: %w", p.names[index], err)
		}
	}
	return archive.Close()
}

func (p *parts) writePart(archive *zip.Writer, index int, instead *replacements) error {
	name := p.names[index]
	entry, err := archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: zipTime()})
	if err != nil {
		return err
	}
	source, err := p.data[index].reader()
	if err != nil {
		return err
	}
	if replacement := instead.of(name); replacement != nil {
		source = bytes.NewReader(replacement)
	}
	if settle := settlementOf(name); settle != nil {
		content, err := io.ReadAll(source)
		if err != nil {
			return err
		}
		source = bytes.NewReader(settle(content))
	}
	_, err = io.Copy(entry, source)
	return err
}

// settlementOf is what has to be put right in a part, or nil.
func settlementOf(name string) func([]byte) []byte {
	switch {
	case name == "[Content_Types].xml":
		return sortContentTypes
	case strings.HasPrefix(name, "xl/tables/"):
		return escapeHeadings
	}
	return nil
}

// sortContentTypes orders the entries of a part whose order varies from run to run.
func sortContentTypes(content []byte) []byte {
	entry := regexp.MustCompile(`<(?:Default|Override)\b[^>]*?(?:/>|></(?:Default|Override)>)`)
	entries := entry.FindAll(content, -1)
	if len(entries) == 0 {
		return content
	}
	places := entry.FindAllIndex(content, -1)
	sorted := slices.SortedFunc(slices.Values(entries), bytes.Compare)
	head, tail := content[:places[0][0]], content[places[len(places)-1][1]:]
	return slices.Concat(head, bytes.Join(sorted, nil), tail)
}

// escapeHeadings writes the line break of a heading as spreadsheet programs do in a table's
// column names. Written otherwise the names differ from the cells, and the file is repaired.
func escapeHeadings(content []byte) []byte {
	return bytes.ReplaceAll(content, []byte("&#xA;"), []byte("_x000a_"))
}
