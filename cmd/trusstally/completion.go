package main

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"trusstally/ingest/plant"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// A completion answers from the program's own declarations where it can; after report also
// from the headers of the plant's own sheets. Only what stands in the warehouse alone (jobs,
// weeks, months, imports) is looked up there, when such a word is asked for: nothing is waited
// for, and a plant that can't be read has no words.

// mostWords is how many words a completion offers from the warehouse.
const mostWords = 500

// completions are the words after a command, by its name: arguments, and values of flags.
var completions = []struct {
	command   string
	arguments func(p *program, args []string) []string
	flags     []flagWords
}{
	{command: "report", arguments: first((*program).reportAndOwnWords), flags: []flagWords{{"week", (*program).weekWords}, {"month", (*program).monthWords}, {"format", words("xlsx", "csv", "json")}}},
	{command: "explain", arguments: first((*program).jobWords), flags: []flagWords{{"week", (*program).weekWords}, {"format", words("text", "json")}}},
	{command: "run", arguments: none, flags: []flagWords{{"week", (*program).weekWords}}},
	{command: "group", flags: []flagWords{{"week", words()}}}, // which plant's weeks, nobody can tell
	{command: "close", arguments: first((*program).monthWords)},
	{command: "undo", arguments: first((*program).importWords)},
	{command: "query", arguments: none, flags: []flagWords{{"format", words("csv", "json")}}},
	{command: "import", flags: []flagWords{{"feed", func(*program) []string { return feedNames() }}}},
	{command: "check", arguments: none},
	{command: "list", arguments: none},
	{command: "imports", arguments: none},
	{command: "verify", arguments: none},
	{command: "version", arguments: none},
	{command: "demo", arguments: none},
}

// flagWords are the values of one flag.
type flagWords struct {
	flag   string
	values func(p *program) []string
}

func words(list ...string) func(*program) []string {
	return func(*program) []string { return list }
}

func none(*program, []string) []string { return nil }

// first completes the first argument alone.
func first(values func(p *program) []string) func(*program, []string) []string {
	return func(p *program, args []string) []string {
		if len(args) > 0 {
			return nil
		}
		return values(p)
	}
}

// addCompletions gives the commands of root their words.
func (p *program) addCompletions(root *cobra.Command) error {
	if err := root.MarkPersistentFlagDirname("plant"); err != nil {
		return err
	}
	group, _, err := root.Find([]string{"group"})
	if err != nil {
		return err
	}
	if err := group.MarkFlagDirname("to"); err != nil {
		return err
	}
	for _, c := range completions {
		command, _, err := root.Find([]string{c.command})
		if err != nil {
			return err
		}
		if c.arguments != nil {
			command.ValidArgsFunction = func(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
				return begunWith(c.arguments(p, args), begun), cobra.ShellCompDirectiveNoFileComp
			}
		}
		for _, f := range c.flags {
			err := command.RegisterFlagCompletionFunc(f.flag, func(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
				return begunWith(f.values(p), begun), cobra.ShellCompDirectiveNoFileComp
			})
			if err != nil {
				return err
			}
		}
	}
	return nil
}

func begunWith(list []string, begun string) []string {
	var kept []string
	for _, word := range list {
		if strings.HasPrefix(word, begun) {
			kept = append(kept, word)
		}
	}
	return kept
}

// reportWords are the books and sheets of the program.
func (p *program) reportWords() []string {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return nil
	}
	return bookWords(books)
}

// reportAndOwnWords are the books and sheets of the program and, where there is a plant, its
// own whose headers are good.
func (p *program) reportAndOwnWords() []string {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return nil
	}
	if info, err := os.Stat(filepath.Join(p.plantFolder, plant.FileName)); err == nil && info.Mode().IsRegular() {
		if own, err := reports.ReadOwn(p.plantFolder, books, nil); err == nil {
			books = own.Join(books)
		}
	}
	return bookWords(books)
}

func bookWords(books []*reports.Book) []string {
	var list []string
	for _, book := range books {
		list = append(list, book.Name)
		for _, sheet := range append(append([]*reports.Definition{}, book.Sheets...), book.Asked...) {
			list = append(list, sheet.Sheet)
		}
	}
	return list
}

func (p *program) jobWords() []string {
	return p.warehouseWords("SELECT job FROM jobs ORDER BY coalesce(ordered_on, DATE '1900-01-01') DESC, job LIMIT ?")
}

func (p *program) weekWords() []string {
	return p.warehouseWords("SELECT label FROM workweeks AS w WHERE EXISTS (SELECT 1 FROM minute_ledger AS m WHERE m.workweek_start = w.workweek_start) ORDER BY workweek_start DESC LIMIT ?")
}

func (p *program) monthWords() []string {
	return p.warehouseWords("SELECT strftime(month, '%Y-%m') FROM (SELECT DISTINCT date_trunc('month', posted_on) AS month FROM dollar_ledger) ORDER BY month DESC LIMIT ?")
}

func (p *program) importWords() []string {
	var list []string
	for _, word := range p.warehouseWords("SELECT concat(import_id, ' ', file_name) FROM imports WHERE undone_utc IS NULL ORDER BY import_id DESC LIMIT ?") {
		number, file, _ := strings.Cut(word, " ")
		if _, err := strconv.ParseInt(number, 10, 64); err == nil {
			list = append(list, cobra.CompletionWithDesc(number, file))
		}
	}
	return list
}

// warehouseWords runs a SELECT of one text and the bound number of rows. No plant, no
// warehouse, one that another run has, or one of another version: no words, no message.
func (p *program) warehouseWords(text string) []string {
	ctx := context.Background()
	w, err := warehouse.OpenLocked(ctx, (&folder{path: p.plantFolder}).warehouse())
	if err != nil {
		return nil
	}
	defer w.Close()
	rows, err := w.DB.QueryContext(ctx, text, mostWords)
	if err != nil {
		return nil
	}
	defer rows.Close()
	var list []string
	for rows.Next() {
		var word string
		if err := rows.Scan(&word); err != nil {
			return nil
		}
		list = append(list, word)
	}
	if rows.Err() != nil {
		return nil
	}
	return list
}
