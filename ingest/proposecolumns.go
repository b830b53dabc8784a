package ingest

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// whatFile says what the file is as a whole, and matches its headings.
func (p *proposal) whatFile() {
	if feed, err := FeedOfFile(p.file, p.settings.Feeds); err != nil || feed.Name != p.feed.Name {
		stem := strings.TrimRight(p.file, "0123456789")
		if at := strings.IndexAny(p.file, "0123456789"); at > 0 {
			stem = p.file[:at]
		} else if at := strings.LastIndexByte(p.file, '.'); at > 0 {
			stem = p.file[:at]
		}
		ending := ""
		if at := strings.LastIndexByte(p.file, '.'); at >= len(stem) {
			ending = p.file[at:]
		}
		if strings.ContainsAny(stem+ending, `*?[\`) || stem == "" {
			p.doubts = append(p.doubts, "say under files how the names of such files begin, or import them with --feed "+p.feed.Name)
		} else {
			p.say("", "files", tomlText(stem+"*"+ending), "the name belongs to no feed")
		}
	}
	if p.sample.sheets > 1 && plainHeader(p.sample.sheet) != plainHeader(p.feed.Name) {
		p.say("", "sheet", tomlText(p.sample.sheet), fmt.Sprintf("of %d sheets", p.sample.sheets))
	}
	if p.sample.sheet == "" && p.sample.delimiter != ',' {
		p.say("", "delimiter", tomlText(string(p.sample.delimiter)), fmt.Sprintf("%s in %s", counted(len(p.names), "cell"), p.agree(func(row sampled) bool { return len(row.cells) == len(p.names) })))
	}
	if p.encoding != "" {
		p.say("", "encoding", tomlText(p.encoding), p.foreign+" is no UTF-8")
	}
	if p.head > 0 {
		first := firstFilled(p.names)
		alone := true
		for _, row := range p.sample.rows[:p.head] {
			alone = alone && !strings.HasPrefix(plainHeader(firstFilled(row.cells)), plainHeader(first))
		}
		if alone {
			p.say("", "header_row", tomlText(first), fmt.Sprintf("on line %d", p.sample.rows[p.head].line))
		} else {
			p.say("", "header_row", fmt.Sprint(p.sample.rows[p.head].line), "")
		}
	}
	p.columnOf, p.sure = matchColumns(p.names, p.feed)
	p.cellOf = make([]int, len(p.feed.Columns))
	for i := range p.cellOf {
		p.cellOf[i] = slices.Index(p.columnOf, i)
	}
}

// firstFilled is the first cell that is not blank.
func firstFilled(cells []string) string {
	for _, cell := range cells {
		if cell != "" {
			return cell
		}
	}
	return ""
}

// agree says of how many rows something is true.
func (p *proposal) agree(is func(row sampled) bool) string {
	n := 0
	for _, row := range p.rows {
		if is(row) {
			n++
		}
	}
	return fmt.Sprintf("%d of %s", n, counted(len(p.rows), "row"))
}

// The forms of dates and times of the clock that are looked for, in order: of two that read
// the same, the stricter comes first.
func dateForms() []string {
	var forms []string
	for _, mark := range []string{"/", ".", "-"} {
		for _, form := range []string{"MM/DD/YYYY", "DD/MM/YYYY", "M/D/YYYY", "D/M/YYYY", "MM/DD/YY", "DD/MM/YY", "M/D/YY", "D/M/YY", "DD/MMM/YYYY", "D/MMM/YYYY", "DD/MMM/YY", "D/MMM/YY", "YYYY/MM/DD", "YYYY/M/D"} {
			forms = append(forms, strings.ReplaceAll(form, "/", mark))
		}
	}
	return append(forms, "YYYYMMDD", "MMDDYYYY", "DDMMYYYY", "D MMM YYYY", "MMM D, YYYY", "YY-MM-DD", "YY/MM/DD")
}

func clockForms() []string {
	return []string{"HH:MM", "H:MM", "hh:MM AM", "h:MM AM", "h:MMAM", "HH.MM", "H.MM", "HHMM"}
}

// momentShape parts a date from a time of the clock.
var momentShape = regexp.MustCompile(`^(.+?),?[ T]+([0-9]{1,2}[:.][0-9]{2}(?:[:.][0-9]{2})?(?: ?[AaPp][Mm])?|[0-9]{4})$`)

// clockShape is a time of the clock alone.
var clockShape = regexp.MustCompile(`^(?:[0-9]{1,2}[:.][0-9]{2}(?:[:.][0-9]{2})?(?: ?[AaPp][Mm])?|[0-9]{4})$`)

// dates finds the forms of dates and times, and the times whose dates stand apart.
func (p *proposal) dates() {
	p.clocks = map[int]int{}
	var days, clocks []string
	dateCell := p.dateCell()
	for i, c := range p.feed.Columns {
		cell := p.cellOf[i]
		if cell < 0 || c.Kind != Date && c.Kind != Time {
			continue
		}
		values := p.values(cell)
		alone := len(values) > 0
		for _, value := range values {
			alone = alone && clockShape.MatchString(value)
		}
		if c.Kind == Time && alone && dateCell >= 0 && dateCell != cell {
			p.clocks[i] = dateCell
			clocks = append(clocks, values...)
			if p.columnOf[dateCell] < 0 {
				days = append(days, p.values(dateCell)...)
			}
			continue
		}
		for _, value := range values {
			if match := momentShape.FindStringSubmatch(value); match != nil {
				days, clocks = append(days, match[1]), append(clocks, match[2])
			} else {
				days = append(days, value)
			}
		}
	}
	p.form("date_format", days, dateForms(), newDateFormat, (*clockFormat).date, func(text string) bool { return shaped(text, "0000-00-00") })
	p.form("time_format", clocks, clockForms(), newTimeFormat, (*clockFormat).clock, func(text string) bool { _, ok := canonicalClock.clock(text); return ok })
	late := false
	for _, clock := range clocks {
		digits := clock[:len(clock)-len(strings.TrimLeft(clock, "0123456789"))]
		if len(digits) == 4 {
			digits = digits[:2]
		}
		late = late || strings.ContainsAny(clock, "AaPp") || number(digits) > 12
	}
	if len(clocks) > 0 && !late {
		p.doubts = append(p.doubts, "no time past 12 was seen: whether afternoons are written 13:00 nothing tells")
	}
}

// dateCell is a cell of dates without times, -1 where there is none: the first heading of
// the file whose cells all are.
func (p *proposal) dateCell() int {
	var formats []*clockFormat
	for _, form := range dateForms() {
		if f, ok := newDateFormat(form); ok {
			formats = append(formats, f)
		}
	}
	for cell := range p.names {
		values := p.values(cell)
		if len(values) == 0 || p.columnOf[cell] >= 0 && p.feed.Columns[p.columnOf[cell]].Kind != Date || p.columnOf[cell] < 0 && !strings.Contains(plainHeader(p.names[cell]), "da") {
			continue
		}
		if !slices.ContainsFunc(values, func(value string) bool { return !dateLike(value, formats) }) {
			return cell
		}
	}
	return -1
}

// dateLike says whether any form reads a text as a date.
func dateLike(text string, formats []*clockFormat) bool {
	if shaped(text, "0000-00-00") {
		return true
	}
	return slices.ContainsFunc(formats, func(f *clockFormat) bool {
		_, ok := f.date(text)
		return ok
	})
}

// form finds the one form that reads most of the texts. Where two read as many and not the
// same, both stay doubtful.
func (p *proposal) form(key string, texts []string, forms []string, compile func(string) (*clockFormat, bool), read func(*clockFormat, string) (string, bool), canonical func(string) bool) {
	var foreign []string
	for _, text := range texts {
		if !canonical(text) {
			foreign = append(foreign, text)
		}
	}
	if len(foreign) == 0 {
		return
	}
	best, bestForm := 0, ""
	meanings := map[string][]string{}
	for _, form := range forms {
		f, ok := compile(form)
		if !ok {
			continue
		}
		n := 0
		var meaning []string
		for _, text := range foreign {
			iso, ok := read(f, text)
			if ok {
				n++
			} else {
				iso = ""
			}
			meaning = append(meaning, iso)
		}
		meanings[form] = meaning
		if n > best {
			best, bestForm = n, form
		}
	}
	if best == 0 {
		p.doubts = append(p.doubts, fmt.Sprintf("no %s was recognised: %s", key, plainValue(foreign[0])))
		return
	}
	why := fmt.Sprintf("reads %d of %d", best, len(foreign))
	for _, form := range forms {
		other := meanings[form]
		for i, meaning := range meanings[bestForm] {
			if key == "date_format" && strings.HasPrefix(form, "YY") != strings.HasPrefix(bestForm, "YY") {
				break // a year of two digits stands last unless nothing else reads it
			}
			if len(other) == 0 || form == bestForm || slices.Equal(other, meanings[bestForm]) || readable(other) < best || other[i] == meaning {
				continue
			}
			p.doubt("", key, tomlText(bestForm), fmt.Sprintf("%s, as %s does: %s is %s or %s; nothing in this file tells", why, form, plainValue(foreign[i]), meaning, other[i]))
			p.doubt("", key, tomlText(form), "take one of the two lines from behind its #")
			return
		}
	}
	p.say("", key, tomlText(bestForm), why+fmt.Sprintf(", such as %s", plainValue(foreign[0])))
}

func readable(meanings []string) int {
	n := 0
	for _, meaning := range meanings {
		if meaning != "" {
			n++
		}
	}
	return n
}

// headings says which heading is which column, and cuts descriptions into parts.
func (p *proposal) headings() {
	for i, c := range p.feed.Columns {
		cell := p.cellOf[i]
		if cell < 0 {
			continue
		}
		if date, apart := p.clocks[i]; apart {
			after := ""
			if start := columnNumber(p.feed, "started_at"); c.Name == "ended_at" && start >= 0 && p.clocks[start] == date {
				after = `, after = "started_at"`
			}
			p.say("columns", c.Name, fmt.Sprintf("{ date = %s, time = %s%s }", tomlText(p.names[date]), tomlText(p.names[cell]), after), "date and time stand apart")
			continue
		}
		switch p.sure[cell] {
		case wordMatch:
			p.say("columns", c.Name, tomlText(p.names[cell]), c.Meaning)
		case nearMatch:
			p.say("columns", c.Name, tomlText(p.names[cell]), "by its likeness alone: "+c.Meaning)
		}
	}
	used := map[int]bool{}
	for _, date := range p.clocks {
		used[date] = true
	}
	var left []string
	for cell, name := range p.names {
		if p.columnOf[cell] < 0 && !used[cell] && !p.splitCell(cell) && name != "" {
			left = append(left, name)
		}
	}
	if len(left) > 0 {
		p.doubts = append(p.doubts, fmt.Sprintf("left out, no column of %s: %s", p.feed.Name, strings.Join(left, ", ")))
	}
	var missing []string
	for i, c := range p.feed.Columns {
		if c.Required && c.Default == "" && p.cellOf[i] < 0 && !p.given(c.Name) {
			missing = append(missing, c.Name)
		}
	}
	if len(missing) > 0 {
		p.doubts = append(p.doubts, "required and not found: "+strings.Join(missing, ", "))
	}
}

// given says whether a pattern makes a column.
func (p *proposal) given(name string) bool {
	for _, s := range p.said {
		if s.table == "split" && !s.doubtful && strings.Contains(s.value, "{"+name) {
			return true
		}
	}
	return false
}

// splitCell finds descriptions of lumber such as 2x4 SPF No. 2 12-00-00 in a column that is
// no other, where the feed's size has no column of its own.
func (p *proposal) splitCell(cell int) bool {
	size, length := columnNumber(p.feed, "size"), columnNumber(p.feed, "length")
	values := p.values(cell)
	if size < 0 || p.given("size") || len(values) == 0 {
		return false
	}
	for _, name := range []string{"size", "species", "grade"} {
		if p.cellOf[columnNumber(p.feed, name)] >= 0 {
			return false
		}
	}
	form := "{size} {species} {grade...} {length}"
	if p.cellOf[length] >= 0 {
		form = "{size} {species} {grade...}"
	}
	pattern, _ := newSplitPattern(form)
	n := 0
	for _, value := range values {
		parts, ok := pattern.cut(value)
		if !ok {
			continue
		}
		if _, err := ParseSize(parts[0]); err != nil {
			continue
		}
		if _, err := ParseLength(parts[len(parts)-1]); len(parts) == 4 && err != nil {
			continue
		}
		n++
	}
	if n*2 <= len(values) {
		return false
	}
	p.say("split", tomlText(p.names[cell]), tomlText(form), fmt.Sprintf("reads %d of %d, such as %s", n, len(values), plainValue(values[0])))
	return true
}

// codes lists the words of closed lists and stations that are none, for a person to say
// what they mean.
func (p *proposal) codes() {
	for i, c := range p.feed.Columns {
		cell := p.cellOf[i]
		if cell < 0 || c.Kind != Choice && !(c.Station && len(p.settings.Stations) > 0) {
			continue
		}
		valid := slices.Clone(c.Choices)
		for _, station := range p.settings.Stations {
			if c.Station {
				valid = append(valid, station.Code)
			}
		}
		var foreign, known []string
		for _, value := range p.values(cell) {
			list := &foreign
			if slices.ContainsFunc(valid, func(word string) bool {
				return word == value || c.Kind == Choice && strings.EqualFold(word, value)
			}) {
				list = &known
			}
			if !slices.Contains(*list, value) {
				*list = append(*list, value)
			}
		}
		if len(foreign) == 0 {
			continue
		}
		slices.Sort(foreign)
		slices.Sort(known)
		for _, value := range append(foreign, known...) {
			near := problem.Nearest(strings.ToLower(value), valid)
			if slices.Contains(known, value) {
				near = value
			}
			p.doubt("codes."+c.Name, tomlText(value), tomlText(near), "one of "+strings.Join(valid, ", "))
		}
	}
}

// tomlText writes a text as TOML has it.
func tomlText(text string) string {
	quoted := fmt.Sprintf("%q", text)
	if strings.Contains(quoted, `\x`) || strings.Contains(quoted, `\a`) || strings.Contains(quoted, `\v`) {
		return `"` + strings.Map(func(r rune) rune {
			if r == '"' || r == '\\' || !unicode.IsPrint(r) {
				return -1
			}
			return r
		}, strings.ToValidUTF8(text, "")) + `"`
	}
	return quoted
}

// check holds the proposal against the reader of plant.toml: what is printed must be taken.
func (p *proposal) check(text string) error {
	const plantText = "[plant]\nname = \"x\"\ntimezone = \"UTC\"\n[[station]]\ncode = \"x\"\nkind = \"yard\"\n"
	settings, err := plant.Parse([]byte(plantText+text), feedNames(Feeds()))
	if err == nil {
		err = CheckRules(settings)
	}
	if err != nil {
		return fmt.Errorf("propose rules for %s: %w", p.file, err)
	}
	return nil
}
