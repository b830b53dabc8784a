package ingest

import (
	"regexp"
	"strings"
)

// rowsPart stands in the pattern of a line for the number of rows that the file has.
const rowsPart = "{rows}"

// linePattern is a pattern of the first cell of a line that is no row: * stands for
// anything, {rows} for the number of rows. Case does not matter.
func linePattern(text string) *regexp.Regexp {
	pattern := regexp.QuoteMeta(strings.ToLower(strings.Trim(text, blanks)))
	pattern = strings.ReplaceAll(pattern, regexp.QuoteMeta("*"), ".*")
	pattern = strings.Replace(pattern, regexp.QuoteMeta(rowsPart), `([0-9][0-9,. ]*)`, 1)
	return regexp.MustCompile("(?is)^" + pattern + "$")
}

// splitPattern is what the cells of one column are made of: parts in braces, with what
// stands between them. A part ends where what follows it first stands; one that is written
// {name...} takes all that the others leave, the parts after it being cut from the end.
// Without one the last part takes the rest. So a text is cut in one way only.
type splitPattern struct {
	text  string
	marks []string // before, between and after the parts
	names []string // of the parts; "" for one that is left out
	long  int      // the part that takes what is left
}

var splitPart = regexp.MustCompile(`\{([a-z_0-9]*)(\.\.\.)?\}`)

// newSplitPattern reads a pattern. wrong says what is wrong with it, or is "".
func newSplitPattern(text string) (p *splitPattern, wrong string) {
	p = &splitPattern{text: text, long: -1}
	end := 0
	for _, at := range splitPart.FindAllStringSubmatchIndex(text, -1) {
		mark := text[end:at[0]]
		if mark == "" && len(p.names) > 0 {
			return nil, "nothing stands between two parts"
		}
		if at[4] >= 0 {
			if p.long >= 0 {
				return nil, "only one part may have dots"
			}
			p.long = len(p.names)
		}
		p.marks, p.names = append(p.marks, mark), append(p.names, text[at[2]:at[3]])
		end = at[1]
	}
	p.marks = append(p.marks, text[end:])
	if len(p.names) == 0 || strings.ContainsAny(strings.Join(p.marks, ""), "{}") {
		return nil, "no part in braces"
	}
	if p.long < 0 {
		p.long = len(p.names) - 1
	}
	return p, ""
}

// cut returns the parts of a text; ok is false where it is not made so. Blanks count as
// one, and none stand at a part's ends.
func (p *splitPattern) cut(text string) (parts []string, ok bool) {
	text = strings.Join(strings.Fields(text), " ")
	first, last := strings.TrimLeft(p.marks[0], blanks), strings.TrimRight(p.marks[len(p.names)], blanks)
	text, begins := strings.CutPrefix(text, first)
	text, ends := strings.CutSuffix(text, last)
	if !begins || !ends {
		return nil, false
	}
	parts = make([]string, len(p.names))
	for i := 0; i < p.long; i++ {
		before, after, found := strings.Cut(text, p.marks[i+1])
		if !found {
			return nil, false
		}
		parts[i], text = strings.Trim(before, blanks), strings.Trim(after, blanks)
	}
	for i := len(p.names) - 1; i > p.long; i-- {
		at := strings.LastIndex(text, p.marks[i])
		if at < 0 {
			return nil, false
		}
		parts[i], text = strings.Trim(text[at+len(p.marks[i]):], blanks), strings.Trim(text[:at], blanks)
	}
	parts[p.long] = strings.Trim(text, blanks)
	for i, part := range parts {
		if part == "" && p.names[i] != "" {
			return nil, false
		}
	}
	return parts, true
}
