package ingest

import (
	"fmt"
	"io"
	"strings"

	"trusstally/ingest/problem"
)

// Receipt says what became of a file. Lines = Accepted + Rejected + Blank +
// Aside, and Accepted = New + Changed + Unchanged.
type Receipt struct {
	ImportID    int64  // number of the import; of the earlier one when AlreadyRead
	Feed        string // name of the feed
	FileName    string // without its folder
	SHA256      string // of the file as it came, in hexadecimal
	ArchiveName string // the name of its copy in archive/
	AlreadyRead bool   // the very file was read before: nothing was changed, all counts are 0

	Lines     int64 // rows after the header row
	Accepted  int64 // rows that are now in the warehouse
	Rejected  int64 // rows refused, those held back with another among them
	Blank     int64 // rows without a value
	Footers   int64 // lines that end the file, as plant.toml names them
	Subtotals int64 // lines that end a group of rows, likewise
	Remarks   int64 // lines that are no rows at all, likewise
	New       int64 // rows that the warehouse did not have
	Changed   int64 // rows that took the place of an old one
	Unchanged int64 // rows that the warehouse had already, and repeats within the file
	Removed   int64 // rows that the warehouse had and the file's groups no longer have
	Settled   int64 // rows that were refused before and that this file brings mended, or gives up

	FirstOn     string       // first date of the accepted rows, ISO, "" when there is none
	LastOn      string       // last date, likewise
	RemovedRows []RemovedRow // every row removed
	Problems    problem.List // what is wrong with each refused row; rows held back come last
	Warnings    []string     // headers, rows and macros that were left out, and totals that could not be proved
	RejectsCSV  []byte       // the refused rows, to be mended and read again; nil when there are none. It may hold pay.
	Seconds     float64      // time taken
}

// Aside is how many lines are no rows.
func (r *Receipt) Aside() int64 { return r.Footers + r.Subtotals + r.Remarks }

// aside counts a line that is no row.
func (r *Receipt) aside(kind lineKind) {
	switch kind {
	case footerLine:
		r.Footers++
	case subtotalLine:
		r.Subtotals++
	case remarkLine:
		r.Remarks++
	}
}

// lineWords says what became of the lines; those that are no rows only where there are any.
func (r *Receipt) lineWords() string {
	words := fmt.Sprintf("accepted %d, rejected %d, blank %d", r.Accepted, r.Rejected, r.Blank)
	for _, aside := range []struct {
		name  string
		lines int64
	}{{"footer", r.Footers}, {"subtotal", r.Subtotals}, {"remark", r.Remarks}} {
		if aside.lines > 0 {
			words += fmt.Sprintf(", %s %d", aside.name, aside.lines)
		}
	}
	return words
}

// Print writes the receipt as a few lines for a clerk. It leaves Problems to the caller.
func (r *Receipt) Print(w io.Writer) {
	if r.AlreadyRead {
		fmt.Fprintf(w, "%s: already read as import %d, nothing changed\n", problem.Plain(r.FileName), r.ImportID)
		return
	}
	fmt.Fprintf(w, "%s: import %d into %s\n", problem.Plain(r.FileName), r.ImportID, r.Feed)
	line := func(name, value string) { fmt.Fprintf(w, "  %-9s %s\n", name, value) }
	width := len(fmt.Sprint(max(r.Lines, r.Removed, r.Settled)))
	amount := func(name string, n int64, more string) {
		line(name, strings.TrimRight(fmt.Sprintf("%*d  %s", width, n, more), " "))
	}
	amount("lines", r.Lines, r.lineWords())
	amount("new", r.New, "")
	amount("changed", r.Changed, "")
	amount("unchanged", r.Unchanged, "")
	amount("removed", r.Removed, "")
	if r.Settled > 0 {
		amount("settled", r.Settled, "refused before")
	}
	if r.FirstOn != "" {
		line("dates", r.FirstOn+" to "+r.LastOn)
	}
	line("seconds", fmt.Sprintf("%.1f", r.Seconds))
	for _, row := range r.RemovedRows {
		fmt.Fprintf(w, "  removed: %s (%s:%d)\n", problem.Plain(row.Row), problem.Plain(row.FileName), row.Line)
	}
	for _, warning := range r.Warnings {
		fmt.Fprintf(w, "  warning: %s\n", problem.Plain(warning))
	}
}
