package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"trusstally/ingest/problem"
)

// Some systems keep a file from being replaced, moved or even read while another program
// has it open, as spreadsheet programs have a book. openElsewhere tells that apart, system by
// system; what is open costs its own file's step and nothing else.

// notReplaced is the problem of a book or page that could not be replaced; place is its path
// within the plant.
func notReplaced(place string, cause error) *problem.Problem {
	return &problem.Problem{Place: filepath.ToSlash(place), What: "it is open in another program and was not replaced", Code: codeFileInUse, Group: "books",
		Hint: "close it there and run again; until then the old one stands, and all that was read is kept", Cause: cause}
}

// inboxFileInUse is the problem of a file that was read and can't be taken out of inbox/.
func inboxFileInUse(name string, cause error) *problem.Problem {
	return &problem.Problem{Place: name, What: "it was read, but is open in another program and so still in inbox/", Code: codeFileInUse, Group: "inbox",
		Hint: "close it there; the next run takes it out", Cause: cause}
}

// fileInUse is the problem of any other file that another program has open, nil when the
// error is of another kind.
func fileInUse(err error) *problem.Problem {
	var renamed *os.LinkError
	var opened *fs.PathError
	path := ""
	switch {
	case errors.As(err, &renamed):
		path = renamed.New
	case errors.As(err, &opened):
		path = opened.Path
	}
	if path == "" || !openElsewhere(path, err) {
		return nil
	}
	return anyFileInUse(path, err)
}

func anyFileInUse(path string, cause error) *problem.Problem {
	return &problem.Problem{Place: filepath.ToSlash(path), What: "it is open in another program, which keeps others out", Code: codeFileInUse, Group: "files",
		Hint: "close it there, then try again", Cause: cause}
}

// notReplacedWords says, for the last line, how many books and pages are still the old ones.
func notReplacedWords(open problem.List) string {
	if len(open) == 0 {
		return ""
	}
	return fmt.Sprintf("; %s open in another program and not replaced", counted(int64(len(open)), "file"))
}
