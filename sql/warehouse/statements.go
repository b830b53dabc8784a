package warehouse

import (
	"regexp"
	"strings"
)

// statement is one statement of a file, from its first word to before its semicolon, with what
// the comment lines right above it say of renewing.
type statement struct {
	text string
	line int

	renewed string   // SQL that is true for the table's rows that are renewed, "" for all
	reads   []narrow // tables of which renewing reads a part
}

// narrow is a table and SQL that is true for the rows of it that are read.
type narrow struct{ table, where string }

// statementsOf parts the text of one of our own files at the semicolons that stand in no
// text, name or comment. Comments before a statement are left out, but for the lines
//
//	-- renewed: CONDITION
//	-- reads: TABLE where CONDITION
func statementsOf(text string) []statement {
	var list []statement
	var head statement
	line, begin := 1, -1
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\n':
			line++
			continue
		case c == ' ' || c == '\t' || c == '\r':
			continue
		case c == '-' && strings.HasPrefix(text[i:], "--"):
			from := i
			for i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
			if begin < 0 {
				head.read(text[from : i+1])
			}
			continue
		case c == ';':
			if begin >= 0 {
				head.text = text[begin:i]
				list = append(list, head)
			}
			begin, head = -1, statement{}
			continue
		}
		if begin < 0 {
			begin, head.line = i, line
		}
		if quote := text[i]; quote == '\'' || quote == '"' {
			for i++; i < len(text) && text[i] != quote; i++ {
				if text[i] == '\n' {
					line++
				}
			}
		}
	}
	if begin >= 0 {
		head.text = strings.TrimSpace(text[begin:])
		list = append(list, head)
	}
	return list
}

// read takes what a comment line says of renewing.
func (s *statement) read(comment string) {
	if condition, ok := strings.CutPrefix(comment, "-- renewed: "); ok {
		s.renewed = condition
	}
	if line, ok := strings.CutPrefix(comment, "-- reads: "); ok {
		table, condition, _ := strings.Cut(line, " where ")
		s.reads = append(s.reads, narrow{table, condition})
	}
}

// created finds the table that a statement makes from a query.
var created = regexp.MustCompile(`^CREATE OR REPLACE TABLE ([a-z_.]+) AS\n`)

// table is the table that the statement makes from a query, and the query; "" for any other.
func (s statement) table() (name, query string) {
	found := created.FindStringSubmatch(s.text)
	if found == nil {
		return "", ""
	}
	return found[1], s.text[len(found[0]):]
}

// narrowed puts the part that is read in the place of each table of reads; put writes its
// condition.
func (s statement) narrowed(text string, put func(string) string) string {
	for _, one := range s.reads {
		place := regexp.MustCompile(`\b(FROM|JOIN) ` + regexp.QuoteMeta(one.table) + `\b`)
		part := "(SELECT * FROM " + one.table + " AS r WHERE " + put(one.where) + ")"
		text = place.ReplaceAllStringFunc(text, func(found string) string { return found[:5] + part })
	}
	return text
}
