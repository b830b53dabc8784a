package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
)

// Exit codes: 0 fine, 1 the data has problems, 2 wrong usage, 3 a fault of ours.
const (
	exitFine    = 0
	exitData    = 1
	exitUsage   = 2
	exitOurs    = 3
	programName = "trusstally"
)

// program is what every command gets: its streams, its clock and the shared flags.
type program struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	now            func() time.Time

	plantFolder string
	waitSeconds uint
	verbose     bool
	asJSON      bool

	boundMiB func(threads int) int // the bound of memory while files are read, of tests, or nil

	opening func() // what tests do before the warehouse or its lock is taken, or nil
}

// exitCode ends a command whose output is already written.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit code %d", int(e)) }

// usageError is wrong use of the command line itself; the usage text follows it.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }

// Run runs one command and returns the exit code.
func Run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return runAt(args, stdin, stdout, stderr, time.Now)
}

// runAt is Run with its clock.
func runAt(args []string, stdin io.Reader, stdout, stderr io.Writer, now func() time.Time) int {
	return (&program{stdin: stdin, stdout: stdout, stderr: stderr, now: now}).run(args)
}

// run runs one command and returns the exit code.
func (p *program) run(args []string) int {
	root := p.rootCommand()
	root.SetArgs(args)
	root.SetIn(p.stdin)
	root.SetOut(p.stdout)
	root.SetErr(p.stderr)
	command, err := root.ExecuteContextC(context.Background())
	return p.explain(command, err)
}

func (p *program) rootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   programName,
		Short: "Weekly costs and margins of a truss plant, from its own records",
		Long: `trusstally reads a truss plant's weekly records (completion logs, lumber usage,
timecards, receipts, quotes) and keeps three ledgers: boards, minutes, dollars.
From them it writes workbooks for the general manager, purchasing, the owner
and the accountant. Every figure can be followed back to a file and a line.

A message ends in a code word in brackets; trusstally help errors explains them.
Other topics: help feeds, help rules, help policies and help reports.`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(command *cobra.Command, _ []string) error { return command.Help() },
	}
	root.PersistentFlags().StringVar(&p.plantFolder, "plant", ".", "the plant's folder")
	root.PersistentFlags().UintVar(&p.waitSeconds, "wait", 60, "how many seconds to wait while another run has the warehouse")
	root.PersistentFlags().BoolVar(&p.verbose, "verbose", false, "also print the cause of an error, as the engine or the system puts it")
	root.PersistentFlags().BoolVar(&p.asJSON, "json", false, "print the result for a program to read, where the command can")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(p.demoCommand(), p.newCommand(), p.importCommand(), p.weeklyCommand(), p.groupCommand(), p.reportCommand(), p.explainCommand(), p.queryCommand(), p.checkCommand(), p.closeCommand(), p.importsCommand(), p.undoCommand(), p.verifyCommand(), p.backupCommand(), p.manCommand(), p.listCommand(), p.exportCommand(), p.versionCommand())
	root.SetHelpCommand(p.helpCommand(root))
	root.DisableAutoGenTag = true
	if err := p.addCompletions(root); err != nil {
		panic(err) // a command or flag that completions names is not declared: seen at any start
	}
	return root
}

// printJSON prints a value for a program to read, indented.
func (p *program) printJSON(value any) error {
	encoder := json.NewEncoder(p.stdout)
	encoder.SetIndent("", "  ")
	return encoder.Encode(value)
}

// explain prints an error in the reader's words and returns its exit code.
func (p *program) explain(command *cobra.Command, err error) int {
	var code exitCode
	var problems problem.List
	var single *problem.Problem
	var usage usageError
	switch {
	case err == nil:
		return exitFine
	case errors.As(err, &code):
		return int(code)
	case errors.As(err, &problems):
		problems.Print(p.stderr, p.verbose)
		return codeOf(problems)
	case errors.As(err, &single):
		problem.List{single}.Print(p.stderr, p.verbose)
		return codeOf(problem.List{single})
	case errors.As(err, &usage), isCobraUsage(err):
		problem.List{{What: err.Error(), Code: codeUsage, Hint: "examples: " + command.CommandPath() + " --help"}}.Print(p.stderr, p.verbose)
		fmt.Fprintf(p.stderr, "\n%s", command.UsageString())
		return exitUsage
	case isDiskFull(err):
		problem.List{{What: "the disk is full, or no file may grow further" + placeOf(err), Code: codeDiskFull, Cause: err,
			Hint: "make room and run the same again: the warehouse is as it was before, or has all of it"}}.Print(p.stderr, p.verbose)
		return exitData
	case fileInUse(err) != nil:
		problem.List{fileInUse(err)}.Print(p.stderr, p.verbose)
		return exitData
	case errors.Is(err, os.ErrPermission):
		problem.List{{What: "not permitted: " + err.Error(), Code: codeNoPermission, Hint: "check who owns the file and the folder"}}.Print(p.stderr, p.verbose)
		return exitData
	default:
		problem.List{{What: "this is a fault of trusstally, not of your data: " + err.Error(), Code: codeInternal,
			Hint: "report it with this text; trusstally check says whether the ledgers balance"}}.Print(p.stderr, p.verbose)
		return exitOurs
	}
}

// isDiskFull says whether an error is the system's word that nothing more can be written. The
// engine passes it on as text.
func isDiskFull(err error) bool {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EFBIG) || errors.Is(err, syscall.EDQUOT) {
		return true
	}
	text := err.Error()
	for _, words := range []string{"No space left on device", "File too large", "Disk quota exceeded", "not enough space on the disk", "Could not write all bytes"} {
		if strings.Contains(text, words) {
			return true
		}
	}
	return false
}

// placeOf names the file that an error of the system is about, or is "".
func placeOf(err error) string {
	var of *fs.PathError
	if errors.As(err, &of) {
		return " (" + of.Path + ")"
	}
	return ""
}

func codeOf(problems problem.List) int {
	for _, one := range problems {
		if one.Usage {
			return exitUsage
		}
	}
	return exitData
}

// isCobraUsage tells the library's complaints about arguments from our own errors.
func isCobraUsage(err error) bool {
	text := err.Error()
	for _, start := range []string{"unknown command", "accepts ", "requires at least", "unknown flag", "required flag", "if any flags in the group", "invalid argument"} {
		if len(text) >= len(start) && text[:len(start)] == start {
			return true
		}
	}
	return false
}
