package ingest

import (
	"fmt"
	"strings"
)

// Kind is the declared type of a feed's column. A type is declared, never guessed:
// 12-06-08 is a length in one column and a date in another.
type Kind int

// The kinds of column. The comment says how a value is held in the warehouse.
const (
	Code    Kind = iota // VARCHAR: trimmed, case and leading zeros kept
	Text                // VARCHAR: trimmed free text
	Date                // DATE
	Time                // two columns: x_at TIMESTAMP (plant's wall clock), x_utc TIMESTAMP (instant)
	Integer             // BIGINT
	Decimal             // DECIMAL(Precision,Scale); more decimals than Scale is an error, never rounded
	Length              // INTEGER, whole sixteenths of an inch, column named x_16ths
	Size                // VARCHAR, nominal section such as 2x4
	Choice              // VARCHAR, one of Choices
)

// Column declares one column of a feed: its header, type, limits and meaning. The same
// declaration drives landing, the row rules, the templates and the documentation, and a
// test holds it against the columns of the warehouse.
type Column struct {
	Name      string   // canonical header, unit in the name
	Kind      Kind     // declared type
	Precision int      // Decimal only: digits in all
	Scale     int      // Decimal only: digits after the mark
	Required  bool     // the header must be there and the cell must not be blank
	Choices   []string // Choice only: the closed list
	Default   string   // what a blank cell means; "" leaves it NULL
	Minimum   string   // smallest value allowed, as text; "" for no limit
	Station   bool     // the value must be one of plant.toml's stations
	DateAlone bool     // Time only: a date without a time is taken as that day's start
	Wage      bool     // the value is pay: printed as ••• in every message
	Meaning   string   // one phrase for people
	Example   string   // a cell for the template
}

// Stored returns the names of the warehouse columns that hold c, in order.
func (c Column) Stored() []string {
	switch c.Kind {
	case Time:
		return []string{c.Name, strings.TrimSuffix(c.Name, "_at") + "_utc"}
	case Length:
		return []string{c.Name + "_16ths"}
	default:
		return []string{c.Name}
	}
}

// SQLType returns the DuckDB type of each column that Stored names.
func (c Column) SQLType() []string {
	switch c.Kind {
	case Date:
		return []string{"DATE"}
	case Time:
		return []string{"TIMESTAMP", "TIMESTAMP"}
	case Integer:
		return []string{"BIGINT"}
	case Decimal:
		return []string{fmt.Sprintf("DECIMAL(%d,%d)", c.Precision, c.Scale)}
	case Length:
		return []string{"INTEGER"}
	default:
		return []string{"VARCHAR"}
	}
}

// GroupPart is one part of a feed's group: a column, and the time column whose date
// stands in for it when it is blank.
type GroupPart struct {
	Column     string // a code or date column
	ElseDateOf string // "" or a time column
}

// RowRule is a rule over a whole row, written in SQL over the stored columns.
type RowRule struct {
	Code   string // code word of the error
	Column string // the cell that the message points at
	Wrong  string // SQL condition, true when the row breaks the rule
	What   string // what is wrong, in the reader's words
	Hint   string // what to do
}

// Feed declares one kind of file: what a row is, its columns and what identifies a row.
type Feed struct {
	Name    string // table name, and how a file's name begins
	Row     string // what one row is
	Key     []string
	Unique  bool        // one row a key: an equal repeat in a file collapses, a different one is refused
	Record  bool        // a row with a record is keyed by it alone
	Group   []GroupPart // rows without a record: the newest file with any row of a group is the truth for all of it
	Rules   []RowRule
	Columns []Column

	// What a refused row stands for, as SQL over the stored columns: NULL when a cell that it
	// needs could not be read. "" for a feed whose rows have no such figure.
	TouchedSeconds string
	TouchedUSD     string
}

// Column returns the column of that name, and whether the feed has it.
func (f Feed) Column(name string) (Column, bool) {
	for _, c := range f.Columns {
		if c.Name == name {
			return c, true
		}
	}
	return Column{}, false
}

// Headers returns the canonical headers in their declared order.
func (f Feed) Headers() []string {
	headers := make([]string, len(f.Columns))
	for i, c := range f.Columns {
		headers[i] = c.Name
	}
	return headers
}

// FeedByName returns the declared feed of that name, and whether there is one.
func FeedByName(name string) (Feed, bool) {
	for _, f := range Feeds() {
		if f.Name == name {
			return f, true
		}
	}
	return Feed{}, false
}

// Stored returns the names of the warehouse columns that hold the feed's columns, in order.
func (f Feed) Stored() []string {
	var names []string
	for _, c := range f.Columns {
		names = append(names, c.Stored()...)
	}
	return names
}
