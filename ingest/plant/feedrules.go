package plant

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// FeedRules says how the files of one feed are to be read. What is left out is as the
// canonical files have it. What a setting says of a column is checked by package ingest,
// which knows the columns; Place finds its line.
type FeedRules struct {
	Files string // pattern of file names, as of filepath.Match
	Sheet string // sheet of a workbook that holds the feed; "" for the one of its name or the only one

	Delimiter  string         // one of , ; | and a tab, between the cells of a text file; "" is the comma
	Encoding   string         // one of Encodings, of a text file that has no mark at its beginning; "" is UTF-8
	Decimal    string         // mark before the decimals of a number, "" is the point
	Thousands  *string        // mark between the thousands of a number, "" for none; nil is the comma
	Currency   string         // sign before or after an amount, to be left out
	DateFormat string         // grammar of dates, "" is YYYY-MM-DD
	TimeFormat string         // grammar of times of the clock, "" is HH:MM
	Zone       *time.Location // zone of the clocks that wrote the times; nil is the plant's

	HeaderLine int      // line of the header row; 0 where HeaderWord or nothing says which it is
	HeaderWord string   // word that begins the header row
	Footer     []string // first cells of lines that end the file, such as "Total*"
	Subtotal   []string // first cells of lines that end a group of rows
	Remarks    []string // first cells of lines that are no rows at all
	Totals     []string // columns whose sums the footer and subtotal lines carry

	Columns map[string]string  // canonical header = the plant's own header
	Apart   map[string]Apart   // columns of times whose date and time stand in two columns
	Packs   map[string]Packs   // columns of boards that the file gives in packs
	Split   map[string]string  // the plant's own header = what its cells are made of, such as "{size} {length}"
	Codes   map[string]Codes   // canonical or own header = what the codes in its cells mean
	Units   map[string]string  // canonical header = unit in which the file has it
	places  map[string]setting // which line of plant.toml each setting is
	text    string             // of plant.toml
}

// Apart is a column of times whose date and time of the clock stand in two columns.
type Apart struct {
	Date, Time string // the plant's own headers
	After      string // canonical header: a time before that column's is the next day's; "" for none
}

// Packs is a column of boards that the file gives in packs.
type Packs struct {
	Header string // the plant's own header of the packs
	Boards int    // boards of one pack; 0 where In or [lumber.packs] says how many
	In     string // the plant's own header of the boards of one pack
}

// Codes says what each code means: canonical header = value. The header "" stands for the
// column itself under which the codes are declared.
type Codes map[string]map[string]string

// Encodings are the values of encoding.
var Encodings = []string{"utf-8", "utf-16", "windows-1252"}

// Place is where a setting of the feed stands in plant.toml, such as "delimiter" or
// "columns.job"; the section where it is not found.
func (r FeedRules) Place(key string) string {
	at, known := r.places[key]
	if !known {
		at = r.places[""]
	}
	return (&reader{text: r.text}).place(at.section, at.key)
}

// setting names a setting by its section, such as feed.jobs.columns, and its key.
type setting struct{ section, key string }

// feedTable is [feed.NAME] as it stands.
type feedTable struct {
	Files      string                    `toml:"files"`
	Sheet      string                    `toml:"sheet"`
	Delimiter  string                    `toml:"delimiter"`
	Encoding   string                    `toml:"encoding"`
	Decimal    string                    `toml:"decimal"`
	Thousands  *string                   `toml:"thousands"`
	Currency   string                    `toml:"currency"`
	DateFormat string                    `toml:"date_format"`
	TimeFormat string                    `toml:"time_format"`
	Zone       string                    `toml:"zone"`
	HeaderRow  any                       `toml:"header_row"`
	Footer     []string                  `toml:"footer"`
	Subtotal   []string                  `toml:"subtotal"`
	Remarks    []string                  `toml:"remarks"`
	Totals     []string                  `toml:"totals"`
	Columns    map[string]any            `toml:"columns"`
	Split      map[string]string         `toml:"split"`
	Codes      map[string]map[string]any `toml:"codes"`
	Units      map[string]string         `toml:"units"`
}

// feeds reads the sections [feed.NAME] in the order of their names.
func (r *reader) feeds(tables map[string]feedTable, known []string) map[string]FeedRules {
	if tables == nil {
		return nil
	}
	all := map[string]FeedRules{}
	for _, name := range slices.Sorted(maps.Keys(tables)) {
		if !slices.Contains(known, name) {
			hint := "the feeds are " + strings.Join(known, ", ")
			if near := problem.Nearest(name, known); near != "" {
				hint = "did you mean feed." + near + "?"
			}
			r.fail(CodeUnknownSetting, "feed."+name, "", fmt.Sprintf("there is no feed of that name (%s)", name), hint)
		}
		all[name] = r.feed("feed."+name, tables[name])
	}
	return all
}

func (r *reader) feed(section string, t feedTable) FeedRules {
	rules := FeedRules{
		Files: t.Files, Sheet: t.Sheet, Delimiter: t.Delimiter, Encoding: t.Encoding, Decimal: t.Decimal, Thousands: t.Thousands, Currency: t.Currency,
		DateFormat: t.DateFormat, TimeFormat: t.TimeFormat, Footer: t.Footer, Subtotal: t.Subtotal, Remarks: t.Remarks, Totals: t.Totals,
		Columns: map[string]string{}, Apart: map[string]Apart{}, Packs: map[string]Packs{}, Split: t.Split, Codes: map[string]Codes{}, Units: t.Units,
		places: map[string]setting{"": {section, ""}}, text: r.text,
	}
	for _, key := range feedKeys() {
		rules.places[key] = setting{section, key}
	}
	if _, err := filepath.Match(t.Files, "x"); err != nil {
		r.fail(CodeBadSetting, section, "files", fmt.Sprintf("not a pattern of file names (%s)", t.Files), "a pattern such as clock-*.csv")
	}
	if !slices.Contains([]string{"", ",", ";", "\t", "|"}, t.Delimiter) {
		r.fail(CodeBadSetting, section, "delimiter", fmt.Sprintf("delimiter can't be %q", t.Delimiter), `",", ";", "|" or "\t" for a tab`)
	}
	r.choice(section, "encoding", t.Encoding, Encodings...)
	r.numberMarks(section, t)
	if t.Zone != "" {
		rules.Zone = r.zoneOf(section, "zone", t.Zone)
	}
	r.headerRow(section, t.HeaderRow, &rules)
	for _, lines := range []struct {
		key      string
		patterns []string
	}{{"footer", t.Footer}, {"subtotal", t.Subtotal}, {"remarks", t.Remarks}} {
		for _, pattern := range lines.patterns {
			if strings.Trim(pattern, "* ") == "" {
				r.fail(CodeBadSetting, section, lines.key, fmt.Sprintf("a pattern that would take any line (%s)", pattern), `write how the first cell begins, such as "Total*"`)
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(t.Columns)) {
		rules.places["columns."+name] = setting{section + ".columns", name}
		r.column(section, name, t.Columns[name], &rules)
	}
	for name := range t.Split {
		rules.places["split."+name] = setting{section + ".split", name}
	}
	for _, name := range slices.Sorted(maps.Keys(t.Codes)) {
		rules.places["codes."+name] = setting{section + ".codes." + name, ""}
		rules.Codes[name] = r.codes(section+".codes."+name, t.Codes[name])
		for code := range t.Codes[name] {
			rules.places["codes."+name+"."+code] = setting{section + ".codes." + name, code}
		}
	}
	for name := range t.Units {
		rules.places["units."+name] = setting{section + ".units", name}
	}
	return rules
}

// numberMarks checks that what parts decimals and thousands cannot be taken for each other.
func (r *reader) numberMarks(section string, t feedTable) {
	r.choice(section, "decimal", t.Decimal, ".", ",")
	decimal, thousands := orElse(t.Decimal, "."), ","
	if t.Thousands != nil {
		thousands = *t.Thousands
		if !slices.Contains([]string{"", ",", ".", " ", "'"}, thousands) {
			r.fail(CodeBadSetting, section, "thousands", fmt.Sprintf("thousands can't be %q", thousands), `",", ".", " ", "'" or "" for none`)
		}
	}
	if thousands == decimal {
		key, hint := "decimal", `say what stands between thousands as well: thousands = "."`
		if t.Thousands != nil {
			key, hint = "thousands", `one mark can't be both: thousands = "" says that there is none`
		}
		r.fail(CodeBadSetting, section, key, fmt.Sprintf("decimals and thousands have the same mark (%s)", decimal), hint)
	}
	if strings.ContainsAny(t.Currency, "0123456789.,-+() ") {
		r.fail(CodeBadSetting, section, "currency", fmt.Sprintf("not a sign of currency (%s)", t.Currency), `a sign or word such as "$" or "USD"`)
	}
}

func (r *reader) headerRow(section string, value any, rules *FeedRules) {
	switch row := value.(type) {
	case nil:
	case int64:
		if row < 1 || row > 1000 {
			r.fail("out-of-range", section, "header_row", fmt.Sprintf("header_row is out of range (%d)", row), "the line of the header row, from 1 to 1000")
		}
		rules.HeaderLine = int(row)
	case string:
		if strings.TrimSpace(row) == "" {
			r.fail(CodeBadSetting, section, "header_row", "header_row is blank", `a line such as 4, or how the row begins, such as "Item"`)
		}
		rules.HeaderWord = row
	default:
		r.fail(CodeBadSetting, section, "header_row", fmt.Sprintf("not a row (%v)", row), `a line such as 4, or how the row begins, such as "Item"`)
	}
}

// column reads one entry of [feed.NAME.columns]: a header, or where two columns make one.
func (r *reader) column(section, name string, value any, rules *FeedRules) {
	table := section + ".columns"
	switch own := value.(type) {
	case string:
		rules.Columns[name] = own
		return
	case map[string]any:
		_, dated := own["date"]
		_, packed := own["packs"]
		switch {
		case dated && r.only(table, name, own, "date", "time", "after"):
			rules.Apart[name] = Apart{Date: textOf(own["date"]), Time: textOf(own["time"]), After: textOf(own["after"])}
			if rules.Apart[name].Date == "" || rules.Apart[name].Time == "" {
				break
			}
			return
		case packed && r.only(table, name, own, "packs", "of"):
			packs := Packs{Header: textOf(own["packs"]), In: textOf(own["of"])}
			if boards, ok := own["of"].(int64); ok && boards > 0 {
				packs.Boards = int(boards)
			}
			rules.Packs[name] = packs
			if _, given := own["of"]; packs.Header == "" || given && packs.In == "" && packs.Boards == 0 {
				break
			}
			return
		case dated || packed:
			return
		}
	}
	shown := fmt.Sprint(value)
	if _, inline := value.(map[string]any); inline {
		shown = name
	}
	r.fail(CodeBadSetting, table, name, fmt.Sprintf("not a heading (%s)", shown),
		`a heading such as "Badge", { date = "Date", time = "In" }, or { packs = "Units", of = "Pcs" }`)
}

// only reports the keys of an inline table that are none of the known ones.
func (r *reader) only(section, name string, table map[string]any, known ...string) bool {
	for _, key := range slices.Sorted(maps.Keys(table)) {
		if slices.Contains(known, key) {
			continue
		}
		hint := "the keys are " + strings.Join(known, ", ")
		if near := problem.Nearest(key, known); near != "" {
			hint = fmt.Sprintf("did you mean %s?", near)
		}
		r.fail(CodeUnknownSetting, section, name, fmt.Sprintf("unknown setting (%s.%s)", name, key), hint)
		return false
	}
	return true
}

// codes reads one table of codes.
func (r *reader) codes(section string, table map[string]any) Codes {
	codes := Codes{}
	for _, code := range slices.Sorted(maps.Keys(table)) {
		switch meaning := table[code].(type) {
		case string:
			codes[code] = map[string]string{"": meaning}
			continue
		case map[string]any:
			codes[code] = map[string]string{}
			for name, value := range meaning {
				text, ok := value.(string)
				if !ok || text == "" {
					r.fail(CodeBadSetting, section, code, fmt.Sprintf("not a value of %s (%v)", name, value), `text in double quotes, such as { species = "SPF", grade = "No. 2" }`)
				}
				codes[code][name] = text
			}
			if len(meaning) > 0 {
				continue
			}
		}
		r.fail(CodeBadSetting, section, code, fmt.Sprintf("a code without a meaning (%s)", code), `a value such as "worked", or values by column such as { species = "SPF", grade = "No. 2" }`)
	}
	return codes
}

// textOf is the text of a value, "" for what is none.
func textOf(value any) string {
	text, _ := value.(string)
	return text
}

// sectionOf is the dotted name of a section's line without brackets, quotes and remark.
func sectionOf(line string) string {
	var name strings.Builder
	quote := rune(0)
	for _, c := range strings.Trim(line, "[ \t") {
		switch {
		case quote != 0 && c == quote:
			quote = 0
		case quote != 0:
			name.WriteRune(c)
		case c == '"' || c == '\'':
			quote = c
		case c == ']':
			return strings.TrimSpace(name.String())
		default:
			name.WriteRune(c)
		}
	}
	return name.String()
}
