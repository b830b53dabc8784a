package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// A topic of help says what the program's declarations say: the feeds, their rules, the text
// of plant.toml, the headers of the sheets. Nothing of it is written a second time here.

// helpTopic is one topic: with no words after it a list, with some the thing that they name.
type helpTopic struct {
	name  string
	most  int    // words that may follow
	takes string // and what they are, for a message
	print func(p *program, args []string) error
	words func(p *program, args []string) []string
}

var helpTopics = []helpTopic{
	{"errors", 1, "one code word", (*program).helpErrors, first(errorWords)},
	{"feeds", 2, "a feed and a column", (*program).helpFeeds, feedWords},
	{"rules", 1, "one feed", (*program).helpRules, first(func(*program) []string { return feedNames() })},
	{"policies", 1, "one section of plant.toml", (*program).helpPolicies, first(func(*program) []string { return policySections() })},
	{"reports", 1, "one book or sheet", (*program).helpReports, first((*program).reportWords)},
}

func (p *program) helpErrors(args []string) error {
	if len(args) == 0 {
		return p.listErrorPages()
	}
	return p.printErrorPage(args[0])
}

func errorWords(*program) []string {
	pages, err := readErrorPages()
	if err != nil {
		return nil
	}
	var codes []string
	for _, page := range pages {
		codes = append(codes, page.Code)
	}
	return codes
}

// unknownName says that a topic has nothing of that name.
func unknownName(topic, what, name string, names []string) error {
	hint := "trusstally help " + topic + " lists them"
	if near := problem.Nearest(name, names); near != "" {
		hint = "did you mean " + near + "?"
	}
	return problem.List{{What: fmt.Sprintf("there is no %s of that name (%s)", what, name), Code: codeUnknownTopic, Usage: true, Hint: hint}}
}

func feedWords(_ *program, args []string) []string {
	switch len(args) {
	case 0:
		return feedNames()
	case 1:
		if feed, known := ingest.FeedByName(args[0]); known {
			return feed.Headers()
		}
	}
	return nil
}

// helpFeeds lists the feeds, or explains one or one column of it.
func (p *program) helpFeeds(args []string) error {
	if len(args) == 0 {
		return printTable(p.stdout, func(row func(...string)) {
			for _, feed := range ingest.Feeds() {
				row(feed.Name, feed.Row)
			}
		})
	}
	feed, known := ingest.FeedByName(args[0])
	if !known {
		return unknownName("feeds", "feed", args[0], feedNames())
	}
	if len(args) == 2 {
		column, known := feed.Column(args[1])
		if !known {
			return unknownName("feeds "+feed.Name, "column", args[1], feed.Headers())
		}
		printColumn(p.stdout, feed, column)
		return nil
	}
	fmt.Fprintf(p.stdout, "%s: %s\n\nRead again: %s.\n", feed.Name, feed.Row, feed.ReadAgain())
	for _, column := range feed.Columns {
		fmt.Fprintln(p.stdout)
		printColumn(p.stdout, feed, column)
	}
	return nil
}

func printColumn(out io.Writer, feed ingest.Feed, c ingest.Column) {
	fmt.Fprintf(out, "%s: %s\n", c.Name, c.Meaning)
	line := func(name, text string) {
		if text != "" {
			fmt.Fprintf(out, "  %-11s %s\n", name, text)
		}
	}
	line("written", c.Grammar())
	line("unit", c.Unit())
	line("other units", strings.Join(feed.Units(c), ", "))
	line("example", c.Example)
}

// helpRules lists what makes a row refused, by feed, and what the checks prove.
func (p *program) helpRules(args []string) error {
	feeds := ingest.Feeds()
	if len(args) == 1 {
		feed, known := ingest.FeedByName(args[0])
		if !known {
			return unknownName("feeds", "feed", args[0], feedNames())
		}
		feeds = []ingest.Feed{feed}
	} else {
		fmt.Fprint(p.stdout, "Every cell is read by its column's kind: trusstally help feeds FEED. Beyond that a row is\nrefused for these:\n\n")
	}
	for _, feed := range feeds {
		for _, rule := range feed.Rules {
			fmt.Fprintf(p.stdout, "%s.%s: %s [%s]\n  %s\n", feed.Name, rule.Column, rule.What, rule.Code, rule.Hint)
		}
		if feed.Unique {
			fmt.Fprintf(p.stdout, "%s: two rows of a file have one %s and differ otherwise [%s]\n", feed.Name, strings.Join(feed.Key, " and "), ingest.CodeRepeatedKey)
		}
		if len(feed.Group) > 0 {
			fmt.Fprintf(p.stdout, "%s: a good row is held back with a bad one of its group, for %s [%s]\n", feed.Name, feed.ReadAgain(), ingest.CodeWith)
		}
	}
	if len(args) == 1 {
		return nil
	}
	fmt.Fprint(p.stdout, "\nThe checks of every run prove:\n\n")
	purposes, err := warehouse.CheckPurposes()
	if err != nil {
		return err
	}
	return printTable(p.stdout, func(row func(...string)) {
		for i, name := range warehouse.CheckNames() {
			row(codeOfCheck(name), purposes[i])
		}
	})
}

// policySections are the sections of plant.toml, those in remarks too, in order.
func policySections() []string {
	var names []string
	for _, section := range plantSections(string(blankPlant)) {
		if section.name != "" {
			names = append(names, section.name)
		}
	}
	return names
}

// plantSection is a part of the blank plant.toml: a section with the remarks before it.
type plantSection struct{ name, text string }

// plantSections parts the blank plant.toml before the remarks that lead to each section;
// subsections and repeated ones belong to the first of their name.
func plantSections(text string) []plantSection {
	var sections []plantSection
	current := plantSection{}
	for _, block := range strings.Split(strings.TrimSpace(text), "\n\n") {
		name := ""
		for _, line := range strings.Split(block, "\n") {
			line = strings.TrimSpace(strings.TrimPrefix(line, "#"))
			if strings.HasPrefix(line, "[") {
				name, _, _ = strings.Cut(strings.Trim(line[:strings.IndexByte(line, ']')], "["), ".")
				break
			}
		}
		switch {
		case name == "" || name == current.name:
			current.text += "\n\n" + block
		default:
			if current.text != "" {
				sections = append(sections, current)
			}
			current = plantSection{name, block}
		}
	}
	return append(sections, current)
}

// helpPolicies prints the blank plant.toml, which explains every key in place, or a section.
func (p *program) helpPolicies(args []string) error {
	if len(args) == 0 {
		_, err := p.stdout.Write(blankPlant)
		return err
	}
	names := policySections()
	if !slices.Contains(names, args[0]) {
		return unknownName("policies", "section", args[0], names)
	}
	for _, section := range plantSections(string(blankPlant)) {
		if section.name == args[0] {
			fmt.Fprintln(p.stdout, section.text)
		}
	}
	return nil
}

// helpReports lists the sheets, or explains one, or those of a book.
func (p *program) helpReports(args []string) error {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return err
	}
	if len(args) == 0 {
		return p.printSheets(books)
	}
	found := false
	for _, book := range books {
		for _, sheet := range slices.Concat(book.Sheets, book.Asked) {
			if args[0] != book.Name && args[0] != sheet.Sheet {
				continue
			}
			if found {
				fmt.Fprintln(p.stdout)
			}
			found = true
			if err := printSheet(p.stdout, book, sheet); err != nil {
				return err
			}
		}
	}
	if !found {
		return unknownName("reports", "sheet or book", args[0], p.reportWords())
	}
	return nil
}

func printSheet(out io.Writer, book *reports.Book, sheet *reports.Definition) error {
	fmt.Fprintf(out, "%s: %s\nBook: %s. Reader: %s. Grain: %s.\n", sheet.Sheet, sheet.Title, book.Name, sheet.Reader, sheet.Grain)
	for _, note := range sheet.Notes {
		fmt.Fprintf(out, "%s\n", note)
	}
	fmt.Fprintln(out)
	return printTable(out, func(row func(...string)) {
		for _, c := range sheet.Columns {
			row("  "+c.Name, c.Heading, c.Meaning)
		}
	})
}

// printTable prints rows of cells, each column as wide as its widest cell.
func printTable(out io.Writer, rows func(row func(cells ...string))) error {
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	rows(func(cells ...string) { fmt.Fprintln(table, strings.Join(cells, "\t")) })
	return table.Flush()
}
