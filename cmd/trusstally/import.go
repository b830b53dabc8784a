package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/problem"
)

func (p *program) importCommand() *cobra.Command {
	var feedName string
	var dryRun, acceptRemovals, propose bool
	command := &cobra.Command{
		Use:   "import FILE…",
		Short: "Read files into the warehouse and bring the ledgers up to date",
		Long: `Reads CSV and XLSX files into the plant's warehouse and brings the ledgers up to date, in
one step that happens wholly or not at all. A file belongs to the feed whose name begins
its own (timecards-2026-11.csv), or that --feed or plant.toml names.

Rows with a mistake are refused, listed with what to do, and kept in rejects/:
mend that file and import it. Its columns reject_import and reject_line tell which
refused row each is: leave them as they are, and empty all other cells of a row
that was none. A file that was read before changes nothing.
The files stay where they are; a copy goes to archive/.

With --propose nothing is read in: it looks at each file, whatever its encoding, marks
and headings, and prints a section [feed.NAME] for plant.toml under which it could be
read, with what was seen and what stays doubtful. A person confirms it.
Exit code 1 says that a row or a file was refused.`,
		Example: `  # Read this week's timecards
  trusstally import timecards-2026-W46.csv --plant mill

  # Look what a file would change, and change nothing
  trusstally import --dry-run completions-2026-11.csv

  # How a file of another system could be read: rules to look through, for plant.toml
  trusstally import --propose punches.txt --plant mill

  # A file whose name says nothing about its feed
  trusstally import --feed lumber_usage saw2.csv`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(command *cobra.Command, paths []string) error {
			if propose {
				return p.propose(paths, feedName)
			}
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			files, err := p.incomingOf(paths, feedName, f)
			if err != nil {
				return err
			}
			lock, err := p.takeLock(f)
			if err != nil {
				return err
			}
			defer lock.Release()
			result, err := p.land(command.Context(), f, files, acceptRemovals, dryRun)
			if err != nil {
				return err
			}
			return p.reportLanding(result, dryRun)
		},
	}
	command.Flags().StringVar(&feedName, "feed", "", "the feed that the files belong to, whatever their names")
	command.Flags().BoolVar(&propose, "propose", false, "print reading rules for plant.toml under which the files could be read, and change nothing")
	command.Flags().BoolVar(&dryRun, "dry-run", false, "say what would change, and change nothing")
	command.Flags().BoolVar(&acceptRemovals, "accept-removals", false, "take also a file that removes more than a fifth of the rows of its groups")
	command.MarkFlagsMutuallyExclusive("propose", "dry-run")
	command.MarkFlagsMutuallyExclusive("propose", "accept-removals")
	return command
}

// incomingOf finds the feed of each file; what belongs to none is a problem.List.
func (p *program) incomingOf(paths []string, feedName string, f *folder) ([]incoming, error) {
	var files []incoming
	var problems problem.List
	for _, path := range paths {
		if feedName != "" {
			feed, ok := ingest.FeedByName(feedName)
			if !ok {
				hint := "trusstally list --feeds shows them"
				if near := problem.Nearest(feedName, feedNames()); near != "" {
					hint = "did you mean " + near + "?"
				}
				return nil, problem.List{{What: fmt.Sprintf("there is no feed of that name (%s)", feedName), Code: ingest.CodeUnknownFeed, Usage: true, Hint: hint}}
			}
			files = append(files, incoming{path: path, feed: feed})
			continue
		}
		feed, err := ingest.FeedOfFile(path, f.settings.Feeds)
		var list problem.List
		var one *problem.Problem
		switch {
		case errors.As(err, &list):
			problems = append(problems, list...)
		case errors.As(err, &one):
			problems = append(problems, one)
		case err != nil:
			return nil, err
		default:
			files = append(files, incoming{path: path, feed: feed})
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return files, nil
}

// reportLanding prints receipts to stdout and what was refused to stderr.
func (p *program) reportLanding(result *landed, dryRun bool) error {
	if p.asJSON {
		type receipt struct {
			File      string `json:"file"`
			Feed      string `json:"feed"`
			Import    int64  `json:"import"`
			Known     bool   `json:"already_read"`
			Lines     int64  `json:"lines"`
			Accepted  int64  `json:"accepted"`
			Rejected  int64  `json:"rejected"`
			Blank     int64  `json:"blank"`
			Aside     int64  `json:"aside"`
			New       int64  `json:"new"`
			Changed   int64  `json:"changed"`
			Unchanged int64  `json:"unchanged"`
			Removed   int64  `json:"removed"`
			Settled   int64  `json:"settled"`
		}
		receipts := []receipt{}
		for _, r := range result.receipts {
			receipts = append(receipts, receipt{r.FileName, r.Feed, r.ImportID, r.AlreadyRead, r.Lines, r.Accepted, r.Rejected, r.Blank, r.Aside(), r.New, r.Changed, r.Unchanged, r.Removed, r.Settled})
		}
		if err := p.printJSON(receipts); err != nil {
			return err
		}
	} else {
		for _, receipt := range result.receipts {
			receipt.Print(p.stdout)
		}
		if dryRun {
			fmt.Fprintln(p.stdout, "dry run: nothing was changed")
		}
	}
	problems := result.problems()
	problems.Print(p.stderr, p.verbose)
	if len(problems) > 0 {
		return exitCode(exitData)
	}
	return nil
}
