package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

func (p *program) weeklyCommand() *cobra.Command {
	var week string
	var strict bool
	command := &cobra.Command{
		Use:   "run",
		Short: "Read inbox/, bring the ledgers up to date, write the books of the week",
		Long: `Reads every file in inbox/ and moves it to archive/, brings the ledgers up to date, checks
that they balance, and writes the books of the week to books/WEEK and the
month-end book of the last full month to books/MONTH. Beside the week's books it
writes index.html, a page with their findings, main figures and charts, and
wall.html, which has no dollars, no pace and no names and may hang in the plant.

Without --week it takes the newest week that has ended and holds a punch or a
completion. A file that can't be read stays in inbox/; rows with a mistake go
to rejects/. Running it again with nothing new changes nothing, and finishes what a
run that was cut short has left. It waits while another run changes the plant.
What it prints it also writes to books/logs/, of which the newest 30 are kept; its last
line says in one what became of it. It never asks anything. If it does not end with 0,
the command under [run] on_failure in plant.toml gets that line.
Sheets of the plant's own (PLANT/reports/*.sql) stand in the books that they name,
or in books/WEEK/plant.xlsx; a faulty one is named and left out.
Exit code 1 says that a balance doesn't balance, that an own sheet is faulty or that
a file that was read can't be taken out of inbox/ (and, with --strict, that a row or
a file was refused).`,
		Example: `  # Every Monday morning
  trusstally run --plant mill

  # The books of an earlier week once more
  trusstally run --plant mill --week 2026-W40`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			return p.logRun(command, func() error {
				f, err := p.openFolder()
				if err != nil {
					return err
				}
				return p.runWeek(command.Context(), f, week, strict)
			})
		},
	}
	command.Flags().StringVar(&week, "week", "", "the week, as 2026-W46")
	command.Flags().BoolVar(&strict, "strict", false, "exit with code 1 also when a row or a file was refused")
	return command
}

// runWeek is the weekly run: inbox, ledgers, checks, books. The last line that it prints
// says in one what became of it, unless it ends in an error that is no exitCode.
func (p *program) runWeek(ctx context.Context, f *folder, week string, strict bool) error {
	if week != "" {
		if _, err := reports.Week(week, f.settings.WeekStartDay); err != nil {
			return err
		}
	}
	lock, err := p.takeLock(f)
	if err != nil {
		return err
	}
	defer lock.Release()
	files, refused, err := p.inboxFiles(f)
	if err != nil {
		return err
	}
	result, err := p.land(ctx, f, files, false, false)
	if err != nil {
		return err
	}
	result.refused = append(refused, result.refused...)
	result.files += len(refused)
	// What was read is in archive/ by now; the inbox keeps only what a person must mend.
	left := result.takeOut()
	p.summariseFiles(result)
	append(result.problems(), left...).Print(p.stderr, p.verbose)

	if _, err := p.writeOwedBooks(ctx, f); err != nil {
		return err
	}
	books, faulty, err := p.weeklyBooks(ctx, f, week)
	if err != nil {
		return err
	}
	w, err := p.openLocked(ctx, f)
	if err != nil {
		return err
	}
	defer w.Close()
	findings, err := reports.KeepChecks(ctx, w)
	if err != nil {
		return err
	}
	period, ok, err := p.weekPeriod(ctx, w, f, week)
	if err != nil {
		return err
	}
	if !ok {
		err := p.endOfRun(result, findings, strict, left)
		fmt.Fprintf(p.stdout, "no week that has ended holds a punch or a completion: no books written%s\n", p.refusedWords(result))
		return err
	}
	if err := reports.KeepJobs(ctx, w, period, books); err != nil {
		return err
	}
	plans, err := reports.Fill(ctx, w, period, books...)
	if err != nil {
		return err
	}
	reports.RememberForPages(books)
	written, open, err := p.writeBooks(ctx, w, f, books, period)
	if err != nil {
		return err
	}
	pages, openPages, err := p.writePages(ctx, w, f, books, period)
	if err != nil {
		return err
	}
	open = append(open, openPages...)
	if err := p.keepCutting(ctx, w, f, plans); err != nil {
		return err
	}
	for _, path := range slices.Concat(written, pages) {
		fmt.Fprintln(p.stdout, path)
	}
	broken := warehouse.Broken(findings)
	state := "every balance holds"
	if broken > 0 {
		state = fmt.Sprintf("%d ROWS DON'T BALANCE: trusstally check names them", broken)
	}
	if warnings := warehouse.Wrong(findings) - broken; warnings > 0 {
		state += fmt.Sprintf("; %s to look at (trusstally check)", counted(int64(warnings), "thing"))
	}
	words := leftOutWords(faulty) + notReplacedWords(open)
	faulty = append(faulty, open...)
	faulty.Print(p.stderr, p.verbose)
	err = p.endOfRun(result, findings, strict, left)
	fmt.Fprintf(p.stdout, "%s: %s written; %s%s%s\n", period.Label, counted(int64(len(written)), "book"), state, p.refusedWords(result), words)
	if err == nil && len(faulty) > 0 {
		err = exitCode(exitData)
	}
	return err
}

// keepCutting closes the reader and keeps the cutting plans that were worked out anew.
func (p *program) keepCutting(ctx context.Context, reader *warehouse.Warehouse, f *folder, plans []reports.CutSolution) error {
	if len(plans) == 0 {
		return nil
	}
	if err := reader.Close(); err != nil {
		return err
	}
	w, err := p.openWriter(ctx, f)
	if err != nil {
		return err
	}
	defer w.Close()
	return reports.KeepCutting(ctx, w, plans)
}

// endOfRun prints failed balances and decides the exit code.
func (p *program) endOfRun(result *landed, findings []warehouse.Finding, strict bool, left problem.List) error {
	var list problem.List
	broken := warehouse.Broken(findings)
	for _, finding := range findings[:broken] { // errors come first
		list = append(list, findingProblem(finding, settleHint(findings)))
	}
	list.Print(p.stderr, p.verbose)
	if broken > 0 || len(left) > 0 || strict && (result.files > 0 || result.rejectedFiles() > 0) {
		return exitCode(exitData)
	}
	return nil
}

func counted(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// refusedWords says, for the last line, how many rows and files were refused.
func (p *program) refusedWords(result *landed) string {
	words := fmt.Sprintf("; %s refused", counted(result.sum(func(r *ingest.Receipt) int64 { return r.Rejected }), "row"))
	if n := result.rejectedFiles(); n > 0 {
		words += fmt.Sprintf(" in %s (see rejects/)", counted(int64(n), "file"))
	}
	if result.files > 0 {
		words += fmt.Sprintf("; %s refused whole (still in inbox/)", counted(int64(result.files), "file"))
	}
	return words
}

// summariseFiles prints one line on all files that were read.
func (p *program) summariseFiles(result *landed) {
	known := result.sum(func(r *ingest.Receipt) int64 {
		if r.AlreadyRead {
			return 1
		}
		return 0
	})
	settled := ""
	if n := result.sum(func(r *ingest.Receipt) int64 { return r.Settled }); n > 0 {
		settled = fmt.Sprintf("; %s refused before settled", counted(n, "row"))
	}
	fmt.Fprintf(p.stdout, "%s read (%d known already): %d new, %d changed, %d unchanged, %d removed, %d refused%s\n",
		counted(int64(len(result.receipts)), "file"), known,
		result.sum(func(r *ingest.Receipt) int64 { return r.New }), result.sum(func(r *ingest.Receipt) int64 { return r.Changed }),
		result.sum(func(r *ingest.Receipt) int64 { return r.Unchanged }), result.sum(func(r *ingest.Receipt) int64 { return r.Removed }),
		result.sum(func(r *ingest.Receipt) int64 { return r.Rejected }), settled)
}

// inboxFiles lists the files in inbox/ in reading order. What is no regular file, or
// belongs to no feed, is refused by name and stays.
func (p *program) inboxFiles(f *folder) ([]incoming, problem.List, error) {
	entries, err := os.ReadDir(f.inbox())
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil, nil
	}
	if errors.Is(err, os.ErrPermission) {
		return nil, nil, err
	}
	if err != nil {
		return nil, nil, problem.List{{Place: "inbox", What: "the folder can't be read", Code: ingest.CodeCannotRead, Hint: "inbox must be a folder of the plant", Cause: err}}
	}
	var files []incoming
	var refused problem.List
	for _, entry := range entries {
		if strings.HasPrefix(entry.Name(), ".") {
			continue
		}
		found, err := p.incomingOf([]string{filepath.Join(f.inbox(), entry.Name())}, "", f)
		var list problem.List
		switch {
		case !entry.Type().IsRegular():
			refused = append(refused, &problem.Problem{Place: entry.Name(), What: "not a file", Code: ingest.CodeNotAFile, Hint: "only files are read from inbox/"})
		case errors.As(err, &list):
			refused = append(refused, list...)
		case err != nil:
			return nil, nil, err
		default:
			files = append(files, found...)
		}
	}
	sortIncoming(files)
	return files, refused, nil
}

// modeOf is the mode of a book or page: one that holds wages is for its owner alone.
func modeOf(private bool) os.FileMode {
	if private {
		return 0o600
	}
	return 0o644
}

// writeBooks writes the weekly books of the period and the month-end book of the last full
// month at its end. Paths are within the plant's folder. A book that another program has
// open stays as it is, and the others are written.
func (p *program) writeBooks(ctx context.Context, w *warehouse.Warehouse, f *folder, books []*reports.Book, week reports.Period) (written []string, open problem.List, err error) {
	closed, _, err := warehouse.ClosedUntil(ctx, w.DB)
	if err != nil {
		return nil, nil, err
	}
	bar := p.progress(len(books), "writing books")
	for _, book := range books {
		period := book.PeriodOf(week)
		folder := filepath.Join(f.books(), period.Label)
		if err := os.MkdirAll(folder, 0o755); err != nil {
			return nil, nil, err
		}
		private, err := book.HoldsWages(ctx, w)
		if err != nil {
			return nil, nil, err
		}
		path := filepath.Join(folder, book.Name+".xlsx")
		// The books of a closed month stay as they are.
		if _, err := os.Stat(path); err == nil && !period.Until.After(closed) {
			bar.Add(1)
			continue
		}
		place := filepath.ToSlash(filepath.Join("books", period.Label, book.Name+".xlsx"))
		err = book.WriteFile(ctx, path, modeOf(private), w, period, f.settings.Name)
		switch {
		case err != nil && openElsewhere(path, err):
			open = append(open, notReplaced(place, err))
		case err != nil:
			return nil, nil, fmt.Errorf("%s: %w", book.Name, err)
		default:
			written = append(written, place)
		}
		bar.Add(1)
	}
	bar.Finish()
	return written, open, nil
}
