package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

func (p *program) checkCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Prove that the ledgers balance, and name what doesn't",
		Long: `Runs every check over the warehouse: boards per item, seconds per employee and
workweek, cents per source row, every row in its ledger, and names that nothing
else knows. When all is well it exits 0; otherwise it prints each row that is wrong,
balances first, and exits 1. Last it names what the plant doesn't record, what stands
in for it and what stays blank: that is no fault, and a plant that records everything
sees nothing of it. Of a plant of which nothing was read yet it says which feeds each
book needs. It changes nothing.`,
		Example: `  # Before the books go out
  trusstally check --plant mill

  # For a program
  trusstally check --json`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			ctx := command.Context()
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			if read, err := p.hasRead(ctx, f); err != nil {
				return err
			} else if !read {
				return p.sayMissing(f)
			}
			w, err := p.openForReading(ctx, f)
			if err != nil {
				return err
			}
			defer w.Close()
			findings, err := w.Check(ctx)
			if err != nil {
				return err
			}
			if p.asJSON {
				if findings == nil {
					findings = []warehouse.Finding{}
				}
				if err := p.printJSON(findings); err != nil {
					return err
				}
			} else {
				var list problem.List
				settle := settleHint(findings)
				for _, finding := range findings {
					list = append(list, findingProblem(finding, settle))
				}
				list.Print(p.stdout, p.verbose)
			}
			if warehouse.Wrong(findings) > 0 {
				return exitCode(exitData)
			}
			return nil
		},
	}
}

// settleHint sends to the sheet that says how to settle what the checks found, with the days
// that hold all of it: the sheet shows one period, else that of the default week.
func settleHint(findings []warehouse.Finding) string {
	first, last := "", ""
	for _, finding := range findings {
		if finding.Severity != "warn" || finding.Day == "" {
			continue
		}
		if first == "" || finding.Day < first {
			first = finding.Day
		}
		last = max(last, finding.Day)
	}
	hint := "the sheet exceptions says how to settle each: trusstally report exceptions"
	if day, err := time.Parse(time.DateOnly, last); err == nil {
		hint += " --from " + first + " --until " + day.AddDate(0, 0, 1).Format(time.DateOnly)
	}
	return hint
}

// findingProblem is a check's row in the shape of an error; settle is settleHint of all.
func findingProblem(finding warehouse.Finding, settle string) *problem.Problem {
	place := finding.File
	if place != "" && finding.Line > 0 {
		place = fmt.Sprintf("%s:%d", place, finding.Line)
	}
	what := finding.Reason
	if finding.Keys != "" {
		what += ": " + finding.Keys
	}
	hint := "a fault of trusstally, not of your data: keep the books back and report it with this text"
	if finding.Severity == "warn" {
		hint = settle
	}
	if finding.Severity == "info" {
		hint = "no fault: the sheets label each figure that it touches; record it, and the figure is measured"
	}
	return &problem.Problem{Place: place, What: what, Code: codeOfCheck(finding.Check), Hint: hint, Group: finding.Reason}
}

// codeOfCheck is the code word of a check: 70_unknown_names prints [unknown-names].
func codeOfCheck(check string) string {
	if _, name, numbered := strings.Cut(check, "_"); numbered {
		check = name
	}
	return strings.ReplaceAll(check, "_", "-")
}
