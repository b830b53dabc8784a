package warehouse

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"trusstally/ingest/problem"
)

// Limits bound one SELECT of a reader: a query, or a sheet of the plant's own.
type Limits struct {
	Time      time.Duration // 0: none
	MemoryMiB int           // what the engine may use; nothing is put on disk instead
}

// within gives a SELECT its time. stop must be called when it has ended.
func (l Limits) within(ctx context.Context) (limited context.Context, stop context.CancelFunc) {
	if l.Time == 0 {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, l.Time)
}

// limitProblem turns the end of a SELECT that ran into a limit into a problem; any other
// error stays as it is.
func (l Limits) limitProblem(ctx context.Context, err error) error {
	switch {
	case err == nil:
		return nil
	case l.Time > 0 && errors.Is(ctx.Err(), context.DeadlineExceeded):
		return problem.List{{What: "stopped: it ran longer than " + inSeconds(l.Time), Code: CodeRunsTooLong, Usage: true,
			Hint: "look for tables joined without a condition; or raise longest_seconds under [reports] in plant.toml", Cause: err}}
	case l.MemoryMiB > 0 && OutOfMemory(err):
		return problem.List{{What: fmt.Sprintf("stopped: it needs more than %d MiB of memory", l.MemoryMiB), Code: CodeTooMuchMemory, Usage: true,
			Hint: "look for tables joined without a condition; or raise memory_mib under [reports] in plant.toml", Cause: err}}
	}
	return err
}

// inSeconds is a time in whole seconds, in words.
func inSeconds(of time.Duration) string {
	if of == time.Second {
		return "1 second"
	}
	return fmt.Sprintf("%d seconds", int(of.Seconds()))
}

// engineLine is how the engine says where in a text something is: the line's number, its
// text or a part of it, and a caret below.
var engineLine = regexp.MustCompile(`(?m)^LINE (\d+): (.*)\n( *)\^`)

// PlaceOf is file:line:column of what the engine complains about in the text of a file, as
// far as its message says.
func PlaceOf(file, text string, err error) string {
	var list problem.List
	if errors.As(err, &list) && len(list) > 0 && list[0].Cause != nil {
		err = list[0].Cause
	}
	match := engineLine.FindStringSubmatch(err.Error())
	if match == nil {
		return file
	}
	number, _ := strconv.Atoi(match[1])
	lines := strings.Split(text, "\n")
	if number < 1 || number > len(lines) {
		return file
	}
	shown := match[2]
	caret := len(match[3]) - len("LINE : ") - len(match[1])
	cut := strings.TrimPrefix(shown, "...")
	begins := strings.Index(lines[number-1], strings.TrimSuffix(cut, "..."))
	if caret < 0 || begins < 0 {
		return fmt.Sprintf("%s:%d", file, number)
	}
	column := begins + caret - (len(shown) - len(cut))
	if column < 0 || column > len(lines[number-1]) {
		return fmt.Sprintf("%s:%d", file, number)
	}
	return fmt.Sprintf("%s:%d:%d", file, number, utf8.RuneCountInString(lines[number-1][:column])+1)
}
