package warehouse

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// Lock is the right to change a plant, which one process has at a time: it covers what the
// engine's own lock doesn't, the files beside the warehouse and the time between two openings.
// The system takes it back when the process ends, however it ends, so it is never stale.
type Lock struct{ file *os.File }

// errHeld is what lockFile returns when another process holds the lock.
var errHeld = errors.New("another process holds the lock")

// TakeLock takes the lock of the warehouse file and writes into the lock file beside it which
// process has it, since when. It does not wait: a lock that another process holds is a
// problem.List with code warehouse-locked.
func TakeLock(file string, now time.Time) (*Lock, error) {
	restore := onlyOwner()
	defer restore()
	held, err := os.OpenFile(file+".lock", os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := closeToOthers(held.Name()); err != nil {
		held.Close()
		return nil, err
	}
	if err := lockFile(held); err != nil {
		text, readErr := io.ReadAll(io.LimitReader(held, 200))
		held.Close()
		if !errors.Is(err, errHeld) {
			return nil, fmt.Errorf("lock %s: %w", held.Name(), err)
		}
		who := ""
		if readErr == nil {
			who = holderOf(string(text))
		}
		return nil, lockedProblem(who, err)
	}
	err = held.Truncate(0)
	if err == nil {
		_, err = held.WriteAt(fmt.Appendf(nil, "%d %s\n", os.Getpid(), now.UTC().Format(time.RFC3339)), 0)
	}
	if err != nil {
		held.Close()
		return nil, err
	}
	return &Lock{held}, nil
}

// Release gives the lock back. The lock file stays: taking it away could take it from a
// process that has just opened it.
func (l *Lock) Release() error {
	return errors.Join(l.file.Truncate(0), l.file.Close())
}

// holderOf reads a lock file that is held: the process and since when, "" where it says
// nothing or names a process that is gone.
func holderOf(text string) string {
	number, since, _ := strings.Cut(strings.TrimSpace(text), " ")
	process, err := strconv.Atoi(number)
	started, parseErr := time.Parse(time.RFC3339, since)
	if err != nil || parseErr != nil || !running(process) {
		return ""
	}
	return describeProcess(process) + ", since " + started.UTC().Format("2006-01-02 15:04") + " UTC"
}

// longestCommand is how much of another process' command line a message shows.
const longestCommand = 80

// describeProcess names a process by its number and, where the system tells, its command.
func describeProcess(process int) string {
	text := fmt.Sprintf("process %d", process)
	line, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", process))
	if err != nil || len(line) == 0 {
		return text
	}
	words := strings.Split(strings.TrimRight(string(line), "\x00"), "\x00")
	words[0] = filepath.Base(words[0])
	command := []rune(strings.Join(words, " "))
	if len(command) > longestCommand {
		command = append(command[:longestCommand], '…')
	}
	return text + ": " + string(command)
}

// lockedProblem says that another run has the warehouse; who is "" when nobody can tell.
func lockedProblem(who string, cause error) error {
	if who != "" {
		who = " (" + who + ")"
	}
	return problem.List{{Place: FileName, What: "the warehouse is in use by another run" + who, Code: CodeWarehouseLocked,
		Hint: "wait until the other run has ended, then try again; --wait says how many seconds a command waits by itself", Cause: cause}}
}
