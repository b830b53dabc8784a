package reports

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"trusstally/ingest/problem"
)

// OwnFolder is where a plant's own sheets stand within its folder.
const OwnFolder = "reports"

// OwnBook is the book of the own sheets that name none.
const OwnBook = "plant"

// longestSheetFile is the most bytes that the file of an own sheet may have.
const longestSheetFile = 1 << 20

// Own is what a plant's folder reports/ holds.
type Own struct {
	Sheets   []*Definition // whose header is good, by name
	Problems problem.List  // of all files, in order of their names

	files []ownFile
}

// ownFile is one .sql of reports/.
type ownFile struct {
	place string // reports/NAME.sql, for messages
	text  string
	sheet *Definition // nil when the header has a problem
}

// ReadOwn reads the headers of the plant's own sheets, folder/reports/*.sql. wages are the
// names that plant.toml lets read wages. What is wrong with a file is among the problems and
// stops no other; without a folder there are no sheets.
func ReadOwn(folder string, books []*Book, wages []string) (*Own, error) {
	own := &Own{}
	entries, err := os.ReadDir(filepath.Join(folder, OwnFolder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	for _, entry := range entries {
		if strings.HasSuffix(entry.Name(), ".sql") && !strings.HasPrefix(entry.Name(), ".") {
			if err := own.read(filepath.Join(folder, OwnFolder, entry.Name()), path.Join(OwnFolder, entry.Name()), books); err != nil {
				return nil, err
			}
		}
	}
	for _, name := range wages {
		at := slices.IndexFunc(own.files, func(f ownFile) bool { return f.name() == name })
		switch {
		case at < 0:
			own.Problems = append(own.Problems, &problem.Problem{Place: "plant.toml", What: fmt.Sprintf("[reports] wages names a sheet that is not in reports/ (%s)", name), Code: CodeUnknownReport,
				Hint: "the sheet NAME is the file reports/NAME.sql"})
		case own.files[at].sheet != nil:
			own.files[at].sheet.wages = true
		}
	}
	return own, nil
}

// name is the sheet's name by its file.
func (f ownFile) name() string { return strings.TrimSuffix(path.Base(f.place), ".sql") }

// mayReadWages says whether plant.toml lists the sheet; one whose header can't be read isn't.
func (f ownFile) mayReadWages() bool { return f.sheet != nil && f.sheet.wages }

var sheetName = regexp.MustCompile(`^[[:lower:]][a-z0-9_]{0,30}$`)

func (o *Own) read(file, place string, books []*Book) error {
	fail := func(line int, code, what, hint string) {
		at := place
		if line > 0 {
			at = fmt.Sprintf("%s:%d", place, line)
		}
		o.Problems = append(o.Problems, &problem.Problem{Group: place, Place: at, What: what, Code: code, Hint: hint})
	}
	info, err := os.Lstat(file)
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() || info.Size() > longestSheetFile {
		fail(0, CodeBadSheetFile, "not a file of text, or larger than 1 MiB", "a sheet is one .sql file with a header and one SELECT")
		return nil
	}
	data, err := os.ReadFile(file)
	if err != nil {
		fail(0, CodeBadSheetFile, "the file can't be read", "check who owns it")
		return nil
	}
	text := strings.ReplaceAll(strings.TrimPrefix(string(data), "\ufeff"), "\r\n", "\n")
	if !utf8.ValidString(text) || strings.ContainsRune(text, 0) {
		fail(0, CodeBadSheetFile, "the file is not UTF-8 text", "save it as UTF-8")
		return nil
	}
	found := ownFile{place: place, text: text}
	d, err := ParseDefinition(place, text)
	var list problem.List
	switch {
	case errors.As(err, &list):
		o.Problems = append(o.Problems, grouped(list, place)...)
	case err != nil:
		return err
	default:
		before := len(o.Problems)
		checkOwnHeader(d, found.name(), books, fail)
		if len(o.Problems) == before {
			d.own, found.sheet = true, d
			o.Sheets = append(o.Sheets, d)
		}
	}
	o.files = append(o.files, found)
	return nil
}

// checkOwnHeader is what the header of an own sheet must be besides a good header.
func checkOwnHeader(d *Definition, file string, books []*Book, fail func(line int, code, what, hint string)) {
	line := func(key string) int { return lineOfKey(d.SQL, key) }
	if d.Sheet != file || !sheetName.MatchString(d.Sheet) {
		fail(line("sheet"), CodeBadSheetName, fmt.Sprintf("the sheet of %s.sql is called %s", file, d.Sheet), "sheet and file have one name: small letters, digits and _, 31 at the most, a letter first")
	}
	names := []string{OwnBook, "front", "checks", "definitions", "files"}
	for _, book := range books {
		names = append(names, book.Name)
		for _, sheet := range slices.Concat(book.Sheets, book.Asked) {
			names = append(names, sheet.Sheet)
		}
	}
	if slices.Contains(names, d.Sheet) {
		fail(line("sheet"), CodeNameTaken, fmt.Sprintf("there is a sheet or book of that name already (%s)", d.Sheet), "give the file and its sheet another name")
	}
	for _, key := range []string{"needs", "private"} {
		if at := line(key); at > 0 {
			fail(at, CodeUnknownKey, fmt.Sprintf("only a built-in sheet has the header key %s", key), "delete the line")
		}
	}
	if d.Book == "" {
		d.Book = OwnBook
	}
	known := []string{OwnBook}
	for _, book := range books {
		known = append(known, book.Name)
	}
	if !slices.Contains(known, d.Book) {
		hint := "the books are " + strings.Join(known, ", ")
		if near := problem.Nearest(d.Book, known); near != "" {
			hint = "did you mean " + near + "?"
		}
		fail(line("book"), CodeUnknownReport, fmt.Sprintf("there is no book of that name (%s)", d.Book), hint)
	}
	for _, parameter := range d.Parameters {
		if _, err := (&Definition{File: d.File, Parameters: []Parameter{parameter}}).parameters(Period{}); err != nil {
			var list problem.List
			if errors.As(err, &list) {
				fail(lineOfParameter(d.SQL, parameter.Name), list[0].Code, list[0].What, list[0].Hint)
			}
		}
	}
}

// lineOfKey is the line of a header key, or 0.
func lineOfKey(text, key string) int {
	pattern := regexp.MustCompile(`^--\s*` + regexp.QuoteMeta(key) + `\s*:`)
	for i, line := range strings.Split(text, "\n") {
		if !strings.HasPrefix(line, "--") {
			break
		}
		if pattern.MatchString(line) {
			return i + 1
		}
	}
	return 0
}

func lineOfParameter(text, name string) int {
	pattern := regexp.MustCompile(`^--\s*param\s*:\s*` + regexp.QuoteMeta(name) + `(\s|$)`)
	for i, line := range strings.Split(text, "\n") {
		if pattern.MatchString(line) {
			return i + 1
		}
	}
	return 0
}

// Join returns the books with the own sheets that were run: at the end of the books that
// they name, and in the book plant. Without any in it there is no book plant.
func (o *Own) Join(books []*Book) []*Book {
	var joined []*Book
	for _, book := range books {
		joined = append(joined, o.into(book))
	}
	if plant := o.into(o.book(books)); len(plant.Sheets) > 0 {
		joined = append(joined, plant)
	}
	return joined
}

// book is the book plant without its sheets.
func (o *Own) book(books []*Book) *Book {
	own := &Book{Name: OwnBook, Title: "Own sheets", Reader: "plant"}
	if len(books) > 0 {
		own.front, own.checks, own.files = books[0].front, books[0].checks, books[0].files
	}
	return own
}

func (o *Own) into(book *Book) *Book {
	with := *book
	with.Sheets = slices.Clone(book.Sheets)
	for _, d := range o.Sheets {
		if d.Book == book.Name {
			with.Sheets = append(with.Sheets, d)
		}
	}
	return &with
}

// ProblemsOf returns what is wrong with the file of that sheet.
func (o *Own) ProblemsOf(name string) problem.List {
	var list problem.List
	for _, one := range o.Problems {
		if file, _, _ := strings.Cut(one.Place, ":"); file == path.Join(OwnFolder, name+".sql") {
			list = append(list, one)
		}
	}
	return list
}

// HasOwn says whether a sheet of the book is the plant's own.
func (b *Book) HasOwn() bool {
	return slices.ContainsFunc(b.Sheets, func(d *Definition) bool { return d.own })
}

// PeriodOf is the period of the book in the weekly run: the week, or the last full month at
// its end.
func (b *Book) PeriodOf(week Period) Period {
	if b.Monthly {
		return week.LastFullMonth()
	}
	return week
}

// Own says whether the sheet is the plant's own.
func (d *Definition) Own() bool { return d.own }

// sortProblems puts the problems in order of the files, and within one of its lines.
func (o *Own) sortProblems() {
	sort.SliceStable(o.Problems, func(i, j int) bool {
		a, _, _ := strings.Cut(o.Problems[i].Place, ":")
		b, _, _ := strings.Cut(o.Problems[j].Place, ":")
		return a < b
	})
}
