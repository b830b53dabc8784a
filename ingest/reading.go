package ingest

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// Reading is how a plant's files of one feed differ from the canonical ones: the reading
// rules of plant.toml, held against the feed's columns. A nil Reading is none.
type Reading struct {
	rules  plant.FeedRules
	marks  numberMarks
	date   *clockFormat // nil where dates are canonical
	clock  *clockFormat // nil where times of the clock are
	packs  map[string]int
	splits map[string]*splitPattern // by the plant's own header
	parts  map[int]splitSource      // where a column is a part of another's cells
	codes  map[int]codeSource       // where a column's cells are codes
	lines  []lineRule
	totals []int // columns
}

// splitSource says that a column is one part of the cells under a header.
type splitSource struct {
	header string
	part   int
}

// codeSource says what the codes mean for one column, and whose cells hold them.
type codeSource struct {
	of     int    // the column under which the codes are declared, or -1
	header string // else the plant's own header
	values map[string]string
}

// lineRule takes a kind of line out of the rows.
type lineRule struct {
	kind    lineKind
	pattern *regexp.Regexp
}

// NewReading holds the rules of one feed against its columns. packs are those of
// [lumber.packs]. What is wrong is a problem.List with the line of plant.toml.
func NewReading(feed Feed, rules plant.FeedRules, packs []plant.Pack) (*Reading, error) {
	c := compiling{feed: feed, rules: rules, reading: &Reading{
		rules: rules, packs: map[string]int{}, splits: map[string]*splitPattern{}, parts: map[int]splitSource{}, codes: map[int]codeSource{},
	}}
	thousands := ","
	if rules.Thousands != nil {
		thousands = *rules.Thousands
	}
	decimal := rules.Decimal
	if decimal == "" {
		decimal = "."
	}
	c.reading.marks = newNumberMarks(decimal, thousands, rules.Currency)
	for _, pack := range packs {
		c.reading.packs[pack.Size] = pack.Boards
	}
	c.formats()
	c.headers()
	c.splitParts()
	c.codeTables()
	c.units()
	c.lineRules()
	if len(c.problems) > 0 {
		return nil, c.problems
	}
	return c.reading, nil
}

// compiling is the rules of one feed on their way to a Reading.
type compiling struct {
	feed     Feed
	rules    plant.FeedRules
	reading  *Reading
	problems problem.List
}

// fail notes what is wrong with a setting; key is as plant.FeedRules.Place has it.
func (c *compiling) fail(code, key, what, hint string) {
	c.problems = append(c.problems, &problem.Problem{Place: c.rules.Place(key), What: what, Code: code, Hint: hint, Usage: true})
}

// column returns the number of a column that plant.toml names, and whether there is one.
func (c *compiling) column(key, name string) (int, bool) {
	if i := columnNumber(c.feed, name); i >= 0 {
		return i, true
	}
	hint := didYouMean(name, c.feed.Headers())
	if hint == "" {
		hint = "its columns are " + strings.Join(c.feed.Headers(), ", ")
	}
	where := fmt.Sprintf("feed.%s.%s", c.feed.Name, key)
	if !strings.HasSuffix(key, "."+name) {
		where += ": " + name
	}
	c.fail(CodeUnknownColumn, key, fmt.Sprintf("%s has no column of that name (%s)", c.feed.Name, where), hint)
	return -1, false
}

func (c *compiling) formats() {
	var ok bool
	if text := c.rules.DateFormat; text != "" {
		if c.reading.date, ok = newDateFormat(text); !ok {
			c.fail(plant.CodeBadSetting, "date_format", fmt.Sprintf("not a form of dates (%s)", text), "year, month and day such as MM/DD/YYYY, D.M.YY or DD-MMM-YYYY")
		}
	}
	if text := c.rules.TimeFormat; text != "" {
		if c.reading.clock, ok = newTimeFormat(text); !ok {
			c.fail(plant.CodeBadSetting, "time_format", fmt.Sprintf("not a form of times (%s)", text), "HH:MM or H:MM by a 24-hour clock, h:MM AM by a 12-hour one, :SS where there are seconds")
		}
	}
}

// headers checks [feed.NAME.columns].
func (c *compiling) headers() {
	for _, name := range slices.Sorted(maps.Keys(c.rules.Columns)) {
		c.column("columns."+name, name)
	}
	for _, name := range slices.Sorted(maps.Keys(c.rules.Apart)) {
		key, apart := "columns."+name, c.rules.Apart[name]
		i, known := c.column(key, name)
		if known && c.feed.Columns[i].Kind != Time {
			c.fail(plant.CodeBadSetting, key, fmt.Sprintf("%s is no time: it has no date and time apart", name), "name its heading alone")
		}
		if apart.After == "" {
			continue
		}
		if k, known := c.column(key, apart.After); known && (c.feed.Columns[k].Kind != Time || apart.After == name || c.rules.Apart[apart.After].After != "") {
			c.fail(plant.CodeBadSetting, key, fmt.Sprintf("not a time that comes before %s (%s)", name, apart.After), "name the column of the earlier time, which has no after of its own")
		}
	}
	for _, name := range slices.Sorted(maps.Keys(c.rules.Packs)) {
		key := "columns." + name
		i, known := c.column(key, name)
		if known && (c.feed.Columns[i].Kind != Integer || columnNumber(c.feed, "size") < 0) {
			c.fail(plant.CodeBadSetting, key, fmt.Sprintf("%s does not come in packs", name), "only boards do")
		}
		if packs := c.rules.Packs[name]; packs.Boards == 0 && packs.In == "" && len(c.reading.packs) == 0 {
			c.fail(plant.CodeBadSetting, key, "the boards of a pack are not known", `say of = 294, of = "Pcs" for a column of the file, or the packs of each size under [lumber.packs]`)
		}
	}
}

// splitParts checks [feed.NAME.split].
func (c *compiling) splitParts() {
	for _, header := range slices.Sorted(maps.Keys(c.rules.Split)) {
		key, text := "split."+header, c.rules.Split[header]
		pattern, wrong := newSplitPattern(text)
		if wrong != "" {
			c.fail(plant.CodeBadSetting, key, fmt.Sprintf("%s (%s)", wrong, text), `parts in braces and what stands between them, such as "{size} {species} {grade...} {length}"`)
			continue
		}
		c.reading.splits[header] = pattern
		for part, name := range pattern.names {
			if name == "" {
				continue
			}
			i, known := c.column(key, name)
			if !known {
				continue
			}
			if _, twice := c.reading.parts[i]; twice || c.elsewhere(name) {
				c.fail(plant.CodeBadSetting, key, fmt.Sprintf("%s is said to stand in two places", name), "name it once, under columns or in one pattern")
			}
			c.reading.parts[i] = splitSource{header: header, part: part}
		}
	}
}

// elsewhere says whether [feed.NAME.columns] says where a column stands.
func (c *compiling) elsewhere(name string) bool {
	_, own := c.rules.Columns[name]
	_, apart := c.rules.Apart[name]
	_, packs := c.rules.Packs[name]
	return own || apart || packs
}

// codeTables checks [feed.NAME.codes.HEADER].
func (c *compiling) codeTables() {
	for _, header := range slices.Sorted(maps.Keys(c.rules.Codes)) {
		of := columnNumber(c.feed, header)
		for i, column := range c.feed.Columns {
			if own := c.rules.Columns[column.Name]; of < 0 && own != "" && plainHeader(own) == plainHeader(header) {
				of = i
			}
		}
		tables := map[int]map[string]string{}
		for _, code := range slices.Sorted(maps.Keys(c.rules.Codes[header])) {
			key := "codes." + header + "." + code
			for _, name := range slices.Sorted(maps.Keys(c.rules.Codes[header][code])) {
				i := of
				if name != "" {
					known := false
					if i, known = c.column(key, name); !known {
						continue
					}
				}
				if i < 0 {
					c.fail(plant.CodeBadSetting, key, fmt.Sprintf("no column of %s stands under this heading (%s)", c.feed.Name, header), `say for which column the code is: { grade = "No. 2" }`)
					continue
				}
				if tables[i] == nil {
					tables[i] = map[string]string{}
				}
				tables[i][code] = c.rules.Codes[header][code][name]
			}
		}
		for _, i := range slices.Sorted(maps.Keys(tables)) {
			c.codesOf(i, of, header, tables[i])
		}
	}
}

// codesOf notes the codes of one column. A code that says nothing of it leaves it blank.
func (c *compiling) codesOf(i, of int, header string, values map[string]string) {
	name := c.feed.Columns[i].Name
	_, split := c.reading.parts[i]
	if _, twice := c.reading.codes[i]; twice || i != of && (split || c.elsewhere(name)) {
		c.fail(plant.CodeBadSetting, "codes."+header, fmt.Sprintf("%s is said to stand in two places", name), "a column that codes fill is named nowhere else")
	}
	for code := range c.rules.Codes[header] {
		if _, given := values[code]; !given {
			values[code] = ""
		}
	}
	c.reading.codes[i] = codeSource{of: of, header: header, values: values}
}

// units checks [feed.NAME.units].
func (c *compiling) units() {
	for _, name := range slices.Sorted(maps.Keys(c.rules.Units)) {
		key, unit := "units."+name, c.rules.Units[name]
		i, known := c.column(key, name)
		if !known {
			continue
		}
		units := c.feed.Units(c.feed.Columns[i])
		if slices.Contains(units, unit) {
			continue
		}
		hint := "it is read as it stands: delete the line"
		if len(units) > 0 {
			hint = "the units are " + strings.Join(units, ", ")
		}
		c.fail(plant.CodeBadSetting, key, fmt.Sprintf("%s has no unit of that name (%s)", name, unit), hint)
	}
}

// lineRules compiles the patterns of lines that are no rows, and checks their totals.
func (c *compiling) lineRules() {
	for _, lines := range []struct {
		kind     lineKind
		key      string
		patterns []string
	}{{footerLine, "footer", c.rules.Footer}, {subtotalLine, "subtotal", c.rules.Subtotal}, {remarkLine, "remarks", c.rules.Remarks}} {
		for _, text := range lines.patterns {
			if strings.Contains(text, rowsPart) && lines.kind == remarkLine {
				c.fail(plant.CodeBadSetting, lines.key, fmt.Sprintf("a remark counts no rows (%s)", text), "a footer or subtotal line may have "+rowsPart)
			}
			c.reading.lines = append(c.reading.lines, lineRule{lines.kind, linePattern(text)})
		}
	}
	for _, name := range c.rules.Totals {
		i, known := c.column("totals", name)
		if !known {
			continue
		}
		_, split := c.reading.parts[i]
		_, coded := c.reading.codes[i]
		if !isNumber(c.feed.Columns[i]) || split || coded {
			c.fail(plant.CodeBadSetting, "totals", fmt.Sprintf("%s has no total: it is no number with a column of its own", name), "name columns of numbers, such as amount_usd")
		}
		c.reading.totals = append(c.reading.totals, i)
	}
	if len(c.rules.Totals) > 0 && len(c.rules.Footer)+len(c.rules.Subtotal) == 0 {
		c.fail(plant.CodeBadSetting, "totals", "no line carries totals", `say how it begins: footer = ["Total*"]`)
	}
}

// delimiter is what stands between the cells of a text file.
func (r *Reading) delimiter() byte {
	if r == nil || r.rules.Delimiter == "" {
		return ','
	}
	return r.rules.Delimiter[0]
}

// encoding is that of a text file without a mark at its beginning, "" for UTF-8.
func (r *Reading) encoding() string {
	if r == nil {
		return ""
	}
	return r.rules.Encoding
}

// CheckRules holds the reading rules of every feed against its columns. What is wrong is a
// problem.List with the lines of plant.toml.
func CheckRules(settings *plant.Settings) error {
	var all problem.List
	for _, feed := range Feeds() {
		rules, given := settings.Feeds[feed.Name]
		if !given {
			continue
		}
		if _, err := NewReading(feed, rules, settings.Lumber.Packs); err != nil {
			all = append(all, err.(problem.List)...)
		}
	}
	if len(all) > 0 {
		return all
	}
	return nil
}
