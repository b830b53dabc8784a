package ingest

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"path"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// workbook is an XLSX workbook that was opened. Of its parts only those are read that hold
// the feed's sheet: links to other files are never followed, macros never looked at.
//
// It is read here rather than by the library that writes our books: that one, row by row,
// returns a cell's text without its type, so that the number 12 and the text 12, or an
// error and a text that looks like one, could not be told apart; and it takes the end of a
// damaged sheet for the end of its rows.
type workbook struct {
	source *source
	parts  map[string]*zip.File // by their names in lower case
	left   int64                // bytes that may yet be unzipped
}

// sheet is one sheet of cells, as the workbook lists it.
type sheet struct {
	name   string
	part   string
	hidden bool
}

// contents is what the workbook says of itself.
type contents struct {
	sheets []sheet   // in their order
	epoch  time.Time // day 0 of serial dates
	texts  string    // part of the shared texts, "" where there is none
	styles string    // part of the styles, likewise
}

// Day 0 of the two systems of serial dates. In the first one 1900 is a leap year, which is
// why its day 61, the 1st of March 1900, is counted from here.
var (
	epoch1900 = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	epoch1904 = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
)

// rows opens the sheet that holds the feed.
func (b *workbook) rows(feed Feed, wanted string) (rowSource, error) {
	b.left = mostUnzipped
	inside, err := b.contents()
	if err != nil {
		return nil, err
	}
	chosen, err := chooseSheet(b.source.name, inside.sheets, feed, wanted)
	if err != nil {
		return nil, err
	}
	reader := cellReader{epoch: inside.epoch}
	if inside.styles != "" {
		if reader.styles, err = b.clockStyles(inside.styles); err != nil {
			return nil, err
		}
	}
	if inside.texts != "" {
		if reader.texts, err = b.sharedTexts(inside.texts); err != nil {
			return nil, err
		}
	}
	part, err := b.openPart(chosen.part, b.left)
	if err != nil {
		return nil, err
	}
	return &sheetRows{place: places{file: b.source.name, sheet: chosen.name}, part: part, reader: reader}, nil
}

// leftAlone says what stands in the workbook and was left alone.
func (b *workbook) leftAlone() []string {
	macros, links := false, false
	for name := range b.parts {
		macros = macros || strings.HasSuffix(name, "/vbaproject.bin") || strings.HasPrefix(name, "xl/macrosheets/")
		links = links || strings.HasPrefix(name, "xl/externallinks/") || name == "xl/connections.xml"
	}
	var warnings []string
	if macros {
		warnings = append(warnings, b.source.name+": it has macros, which are never run")
	}
	if links {
		warnings = append(warnings, b.source.name+": it has links to other files, which are never followed: the values are those it was saved with")
	}
	return warnings
}

// contents reads the list of the sheets and where their parts are.
func (b *workbook) contents() (contents, error) {
	inside := contents{epoch: epoch1900}
	targets, err := b.relations(&inside)
	if err != nil {
		return inside, err
	}
	part, err := b.openPart(workbookPart, b.left)
	if err != nil {
		return inside, err
	}
	defer part.body.Close()
	err = part.each(func(element xml.StartElement) error {
		switch {
		case part.within("workbook", "workbookPr") && trueAttribute(element, "date1904"):
			inside.epoch = epoch1904
		case part.within("sheets", "sheet"):
			state := attribute(element, "state")
			// A sheet of a chart or of macros has no cells, and no target here.
			if target := targets[attribute(element, "id")]; target != "" {
				inside.sheets = append(inside.sheets, sheet{name: attribute(element, "name"), part: target, hidden: state != "" && state != "visible"})
			}
		}
		return nil
	})
	return inside, err
}

// relations returns the parts of the sheets by their ids, and notes the other parts that
// are needed. Parts outside of the workbook are left out.
func (b *workbook) relations(inside *contents) (map[string]string, error) {
	part, err := b.openPart("xl/_rels/workbook.xml.rels", b.left)
	if err != nil {
		return nil, err
	}
	defer part.body.Close()
	targets := map[string]string{}
	err = part.each(func(element xml.StartElement) error {
		if element.Name.Local != "Relationship" || attribute(element, "TargetMode") == "External" {
			return nil
		}
		target := attribute(element, "Target")
		if !strings.HasPrefix(target, "/") {
			target = path.Join("xl", target)
		}
		target = strings.TrimPrefix(path.Clean(target), "/")
		switch path.Base(attribute(element, "Type")) {
		case "worksheet":
			targets[attribute(element, "Id")] = target
		case "sharedStrings":
			inside.texts = target
		case "styles":
			inside.styles = target
		}
		return nil
	})
	return targets, err
}

// chooseSheet returns the sheet that holds the feed: the wanted one where plant.toml names
// one, else the one that is named as the feed, else the only one to be seen.
func chooseSheet(file string, sheets []sheet, feed Feed, wanted string) (sheet, error) {
	if len(sheets) == 0 {
		return sheet{}, fileProblem(CodeEmptyFile, file, "the workbook has no sheet of cells", "export it again: a sheet must hold the rows", nil)
	}
	var visible []sheet
	for _, s := range sheets {
		if name := plainHeader(s.name); wanted != "" && name == plainHeader(wanted) || wanted == "" && name == plainHeader(feed.Name) {
			return s, nil
		}
		if !s.hidden {
			visible = append(visible, s)
		}
	}
	if wanted == "" && len(visible) == 1 {
		return visible[0], nil
	}
	names := make([]string, len(sheets))
	for i, s := range sheets {
		names[i] = s.name
		if s.hidden {
			names[i] += " (hidden)"
		}
	}
	likely := sheets[0].name
	if len(visible) > 0 {
		likely = visible[0].name
	}
	p := &problem.Problem{
		Place: file, What: fmt.Sprintf("several sheets, and none is named %s (%s)", feed.Name, strings.Join(names, ", ")), Code: CodeWhichSheet,
		Hint: fmt.Sprintf("name the sheet %s, or name it in plant.toml under [feed.%s]: sheet = %q", feed.Name, feed.Name, likely),
	}
	if len(visible) == 0 {
		p.What = fmt.Sprintf("every sheet is hidden, and none is named %s (%s)", feed.Name, strings.Join(names, ", "))
	}
	if wanted != "" {
		p.What = fmt.Sprintf("there is no sheet %s, as plant.toml names it (%s)", wanted, strings.Join(names, ", "))
		p.Hint = fmt.Sprintf("mend the name in plant.toml under [feed.%s]: sheet = %q", feed.Name, likely)
	}
	return sheet{}, problem.List{p}
}

// sharedTexts reads the texts that cells refer to by number.
func (b *workbook) sharedTexts(name string) ([]string, error) {
	part, err := b.openPart(name, mostTexts)
	if err != nil {
		return nil, err
	}
	defer part.body.Close()
	var texts []string
	err = part.each(func(xml.StartElement) error {
		if !part.within("sst", "si") {
			return nil
		}
		if len(texts) == mostShared {
			return b.damagedPart(name, errTooLarge)
		}
		text, err := part.plainText(true)
		texts = append(texts, text)
		return err
	})
	return texts, err
}
