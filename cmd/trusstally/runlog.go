package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
	"trusstally/reports"
)

const (
	keptLogs     = 30                // logs of runs that are kept
	longestHook  = time.Minute       // a command on_failure is stopped after so long
	longestPipes = 5 * time.Second   // and what it has started no longer holds its output after so long
	logStamp     = "20060102T150405" // of a log's name, in UTC, so that names sort as times do
)

var logName = regexp.MustCompile(`^run-[0-9]{8}T[0-9]{6}Z(-[0-9]+)?\.log$`)

// tee is a stream that is written to a log too.
type tee struct{ screen, log io.Writer }

func (t tee) Write(text []byte) (int, error) {
	// A full disk must not keep what is printed from the screen.
	t.log.Write(text)
	return t.screen.Write(text)
}

// screen is standard error itself, for what is no message: bars of progress.
func (p *program) screen() io.Writer {
	if split, ok := p.stderr.(tee); ok {
		return split.screen
	}
	return p.stderr
}

// logRun runs the weekly run as a schedule needs it: what it prints is written to a log in
// books/logs/ as well, the last line on standard output says what became of it, and when it
// does not end with 0 the plant's own command is told. It returns nil or an exitCode: every
// problem is printed by then.
//
// Logs hold what the run prints, in which wages are •••. They are named by the start of the
// run, by the program's clock in UTC; the newest 30 stay.
func (p *program) logRun(command *cobra.Command, run func() error) error {
	log, name := p.openLog()
	if log != nil {
		defer log.Close()
		stdout, stderr := p.stdout, p.stderr
		p.stdout, p.stderr = tee{stdout, log}, tee{stderr, log}
		defer func() { p.stdout, p.stderr = stdout, stderr }()
		fmt.Fprintf(log, "trusstally %s run, started %s UTC\n\n", reports.Version, p.now().UTC().Format(time.DateTime))
	}
	var last lastLine
	p.stdout = io.MultiWriter(p.stdout, &last)
	err := run()
	var code exitCode
	if err != nil && !errors.As(err, &code) {
		code = exitCode(p.explain(command, err))
		fmt.Fprintf(p.stdout, "run failed (exit code %d): %s\n", code, oneLine(err))
	}
	if code != exitFine {
		p.tellFailure(int(code), last.String(), name)
	}
	if log != nil {
		fmt.Fprintf(log, "\nended %s UTC, exit code %d\n", p.now().UTC().Format(time.DateTime), code)
		p.rotateLogs(filepath.Dir(name))
	}
	if code == exitFine {
		return nil
	}
	return code
}

// oneLine is an error without the rows and hints that are printed with it.
func oneLine(err error) string {
	return strings.ReplaceAll(err.Error(), "\n", " ")
}

// openLog makes the log of a run that starts now. A folder that is no plant gets none; where
// none can be written a warning says so and the run goes on.
func (p *program) openLog() (log *os.File, name string) {
	if _, err := os.Stat(filepath.Join(p.plantFolder, plant.FileName)); err != nil {
		return nil, ""
	}
	folder := (&folder{path: p.plantFolder}).logs()
	err := os.MkdirAll(folder, 0o755)
	for copies := 1; err == nil; copies++ {
		name = filepath.Join(folder, "run-"+p.now().UTC().Format(logStamp)+"Z.log")
		if copies > 1 {
			name = strings.TrimSuffix(name, ".log") + fmt.Sprintf("-%d.log", copies)
		}
		log, err = os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err == nil {
			return log, name
		}
		if errors.Is(err, os.ErrExist) {
			err = nil // another run started in the same second
		}
	}
	problem.List{{Place: filepath.ToSlash(folder), What: "warning: no log of this run can be written", Code: codeCannotWrite, Hint: "check who owns the folder, and the room on the disk", Cause: err}}.Print(p.stderr, p.verbose)
	return nil, ""
}

// rotateLogs takes the oldest logs away. One that can't be taken away stays.
func (p *program) rotateLogs(folder string) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return
	}
	var names []string
	for _, entry := range entries {
		if logName.MatchString(entry.Name()) {
			names = append(names, entry.Name())
		}
	}
	slices.Sort(names)
	for _, name := range names[:max(0, len(names)-keptLogs)] {
		os.Remove(filepath.Join(folder, name))
	}
}

// tellFailure calls the command that plant.toml names for a run that failed, in the plant's
// folder, with the message on its standard input: how the run ended and where its log is.
// What the command prints goes to standard error. That it fails itself is a warning and
// changes no exit code.
func (p *program) tellFailure(code int, summary, log string) {
	settings, err := plant.Read(p.plantFolder, feedNames())
	if err != nil || len(settings.Run.OnFailure) == 0 {
		return // what is wrong with plant.toml is printed already
	}
	message := fmt.Sprintf("The run of %s ended with exit code %d.\n%s\n", settings.Name, code, summary)
	if log != "" {
		if whole, err := filepath.Abs(log); err == nil {
			log = whole
		}
		message += "Log: " + log + "\n"
	}
	ctx, stop := context.WithTimeout(context.Background(), longestHook)
	defer stop()
	words := settings.Run.OnFailure
	hook := exec.CommandContext(ctx, words[0], words[1:]...)
	hook.Dir, hook.Stdin, hook.Stdout, hook.Stderr, hook.WaitDelay = p.plantFolder, strings.NewReader(message), p.stderr, p.stderr, longestPipes
	err = hook.Run()
	if err == nil {
		return
	}
	if ctx.Err() != nil {
		err = fmt.Errorf("stopped after %s", longestHook)
	}
	problem.List{{Place: plant.FileName, What: fmt.Sprintf("warning: the command of on_failure did not succeed (%s: %v)", words[0], err), Code: codeHookFailed,
		Hint: "try it by hand in the plant's folder; what it prints stands above"}}.Print(p.stderr, p.verbose)
}

// lastLine keeps the last line that was written to it.
type lastLine struct{ text string }

func (l *lastLine) Write(text []byte) (int, error) {
	lines := strings.Split(strings.TrimRight(l.text+string(text), "\n"), "\n")
	l.text = lines[len(lines)-1]
	if strings.HasSuffix(string(text), "\n") {
		l.text += "\n"
	}
	return len(text), nil
}

func (l *lastLine) String() string { return strings.TrimRight(l.text, "\n") }
