package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

func (p *program) listCommand() *cobra.Command {
	var feeds, tables bool
	command := &cobra.Command{
		Use:   "list",
		Short: "List books and sheets, feeds and columns, or tables",
		Long: `Lists the books and their sheets, those of the plant's own folder reports/ too;
with --feeds the feeds and their columns; with
--tables the tables and columns of the plant's warehouse, for query. The first
two never open the warehouse. Where plant.toml may say that a column comes in another
unit, --feeds names the units.`,
		Example: `  # All sheets
  trusstally list

  # Which columns a file of timecards may have
  trusstally list --feeds`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			switch {
			case tables:
				return p.listTables(command)
			case feeds:
				return p.listFeeds()
			default:
				return p.listSheets()
			}
		},
	}
	command.Flags().BoolVar(&feeds, "feeds", false, "list feeds and their columns")
	command.Flags().BoolVar(&tables, "tables", false, "list tables and their columns")
	command.MarkFlagsMutuallyExclusive("feeds", "tables")
	return command
}

func (p *program) listSheets() error {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		return err
	}
	own, err := reports.ReadOwn(p.plantFolder, books, nil)
	if err != nil {
		return err
	}
	if err := p.printSheets(own.Join(books)); err != nil {
		return err
	}
	if len(own.Problems) > 0 {
		return own.Problems
	}
	return nil
}

// printSheets lists the sheets of the books.
func (p *program) printSheets(books []*reports.Book) error {
	if p.asJSON {
		type sheet struct {
			Book   string `json:"book"`
			Sheet  string `json:"sheet"`
			Reader string `json:"reader"`
			Title  string `json:"title"`
			Grain  string `json:"grain"`
			Own    bool   `json:"own"`
		}
		var sheets []sheet
		for _, book := range books {
			for _, d := range slices.Concat(book.Sheets, book.Asked) {
				sheets = append(sheets, sheet{book.Name, d.Sheet, d.Reader, d.Title, d.Grain, d.Own()})
			}
		}
		return json.NewEncoder(p.stdout).Encode(sheets)
	}
	table := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	for _, book := range books {
		fmt.Fprintf(table, "%s\tbook for the %s\n", book.Name, book.Reader)
		for _, d := range slices.Concat(book.Sheets, book.Asked) {
			whose := ""
			if d.Own() {
				whose = " (of this plant)"
			}
			fmt.Fprintf(table, "  %s\t%s: %s%s\n", d.Sheet, d.Title, d.Grain, whose)
		}
	}
	return table.Flush()
}

func (p *program) listFeeds() error {
	if p.asJSON {
		type column struct {
			Feed     string   `json:"feed"`
			Column   string   `json:"column"`
			Required bool     `json:"required"`
			Meaning  string   `json:"meaning"`
			Units    []string `json:"units,omitempty"`
		}
		var columns []column
		for _, feed := range ingest.Feeds() {
			for _, c := range feed.Columns {
				columns = append(columns, column{feed.Name, c.Name, c.Required, c.Meaning, feed.Units(c)})
			}
		}
		return json.NewEncoder(p.stdout).Encode(columns)
	}
	table := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	for _, feed := range ingest.Feeds() {
		fmt.Fprintf(table, "%s\t\t%s\n", feed.Name, feed.Row)
		for _, c := range feed.Columns {
			need := ""
			if c.Required {
				need = "required"
			}
			meaning := c.Meaning
			if units := feed.Units(c); len(units) > 0 {
				meaning += fmt.Sprintf(" [feed.%s.units: %s]", feed.Name, strings.Join(units, ", "))
			}
			fmt.Fprintf(table, "  %s\t%s\t%s\n", c.Name, need, meaning)
		}
	}
	return table.Flush()
}

func (p *program) listTables(command *cobra.Command) error {
	f, err := p.openFolder()
	if err != nil {
		return err
	}
	w, err := p.openLocked(command.Context(), f)
	if err != nil {
		return err
	}
	defer w.Close()
	columns, err := w.Describe(command.Context())
	if err != nil {
		return err
	}
	if p.asJSON {
		return json.NewEncoder(p.stdout).Encode(columns)
	}
	table := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	last := ""
	for _, column := range columns {
		if column.Table != last {
			fmt.Fprintf(table, "%s\t\t%s\n", column.Table, column.TableMeaning)
			last = column.Table
		}
		fmt.Fprintf(table, "  %s\t%s\t%s\n", column.Column, column.Type, column.Meaning)
	}
	return table.Flush()
}
