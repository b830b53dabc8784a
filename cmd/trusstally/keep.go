package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// A file goes through these steps, and a run that is cut short after any of them is finished
// by the next one:
//
//  1. its copy is put into archive/, whole, under its SHA-256;
//  2. what was refused of it is put into rejects/, whole, under a name that nobody sees;
//  3. the transaction is committed, its rows and its import number with it;
//  4. what was refused gets its name in rejects/;
//  5. the file is taken out of inbox/.
//
// Before 3 nothing has happened: the file is still in inbox/ and is read anew. After 3 the
// file is known by its SHA-256, whatever is left to do.

// stagedPrefix begins the name in rejects/ of what was refused by a run that is not
// committed: .staged-IMPORT-SHA256-NAME.csv, where NAME.csv is what it will be called.
const stagedPrefix = ".staged-"

var stagedName = regexp.MustCompile(`^\.staged-([0-9]+)-([0-9a-f]{64})-(.*)\.csv$`)

// keep copies the file to archive/ under its SHA-256 and puts what was refused of it beside
// its place in rejects/. Both can hold pay and are readable by their owner alone. Of a file
// that was read before it makes sure that the copy is there.
func (f *folder) keep(file incoming, receipt *ingest.Receipt) error {
	if err := os.MkdirAll(f.archive(), 0o700); err != nil {
		return err
	}
	target := filepath.Join(f.archive(), receipt.ArchiveName)
	if _, err := os.Stat(target); err != nil || !receipt.AlreadyRead {
		if err := copyFile(target, file.path, receipt.SHA256); err != nil {
			return err
		}
	} else if err := os.Chmod(target, 0o600); err != nil && !errors.Is(err, os.ErrPermission) {
		return err // a copy that somebody put back may have come with another mode
	}
	if receipt.RejectsCSV == nil {
		return nil
	}
	if err := os.MkdirAll(f.rejects(), 0o700); err != nil {
		return err
	}
	name := ingest.RejectsName(receipt.FileName, file.feed, receipt.ImportID, f.settings.Feeds)
	return writeFile(filepath.Join(f.rejects(), fmt.Sprintf("%s%d-%s-%s", stagedPrefix, receipt.ImportID, receipt.SHA256, name)), receipt.RejectsCSV)
}

// settleRejects gives what was refused its name in rejects/ if its import is in the log, and
// takes it away if that was never committed.
func (f *folder) settleRejects(ctx context.Context, log warehouse.Queryer) error {
	entries, err := os.ReadDir(f.rejects())
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, entry := range entries {
		parts := stagedName.FindStringSubmatch(entry.Name())
		if parts == nil {
			continue
		}
		number, err := strconv.ParseInt(parts[1], 10, 64)
		if err != nil {
			return err
		}
		var logged int
		if err := log.QueryRowContext(ctx, "SELECT count(*) FROM imports WHERE import_id = ? AND sha256 = ? AND undone_utc IS NULL", number, parts[2]).Scan(&logged); err != nil {
			return err
		}
		staged := filepath.Join(f.rejects(), entry.Name())
		if logged == 0 {
			err = os.Remove(staged)
		} else {
			err = f.publish(staged, parts[3])
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// publish gives the staged file its name, without its ending, in rejects/. It never writes
// over another file, which a person may be mending.
func (f *folder) publish(staged, name string) error {
	text, err := os.ReadFile(staged)
	if err != nil {
		return err
	}
	target := filepath.Join(f.rejects(), name+".csv")
	for copies := 2; ; copies++ {
		there, err := os.ReadFile(target)
		switch {
		case errors.Is(err, os.ErrNotExist):
			return settle(staged, target)
		case err != nil:
			return err
		case string(there) == string(text):
			return os.Remove(staged)
		}
		target = filepath.Join(f.rejects(), fmt.Sprintf("%s-%d.csv", name, copies))
	}
}

// tidy finishes what a run that was cut short has left: it settles what was refused and takes
// away files that were being written. It may only be called while the warehouse is open for
// writing, for then no other process writes a book.
func (f *folder) tidy(ctx context.Context, log warehouse.Queryer) error {
	if err := f.settleRejects(ctx, log); err != nil {
		return err
	}
	folders := []string{f.path, f.archive(), f.rejects()}
	books, err := filepath.Glob(filepath.Join(f.books(), "*"))
	if err != nil {
		return err
	}
	for _, folder := range append(folders, books...) {
		entries, err := os.ReadDir(folder)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		for _, entry := range entries {
			if !strings.HasPrefix(entry.Name(), warehouse.UnfinishedPrefix) {
				continue
			}
			if err := removeUnfinished(filepath.Join(folder, entry.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// removeUnfinished takes away a file, or a folder that holds files only, one by one: some
// systems can't do that from above.
func removeUnfinished(path string) error {
	entries, err := os.ReadDir(path)
	if err == nil {
		for _, entry := range entries {
			if err := os.Remove(filepath.Join(path, entry.Name())); err != nil {
				return err
			}
		}
	}
	return os.Remove(path)
}

// takeOut takes the files that were read out of inbox/, of which archive/ has copies by now,
// so that only what a person must mend is left. A file that is not what was read any more,
// because somebody has put another in its place, stays for the next run. What can't be taken
// out is told, and is known already when it is read again.
func (l *landed) takeOut() (left problem.List) {
	for i, file := range l.read {
		sum, err := hashOf(file.path)
		if err == nil && sum != l.receipts[i].SHA256 {
			left = append(left, &problem.Problem{Place: filepath.Base(file.path), What: "the file in inbox/ changed after it was read, and stays there", Code: ingest.CodeFileChanged,
				Hint: "the next run reads it as it is now"})
			continue
		}
		if err == nil {
			err = os.Remove(file.path)
		}
		switch {
		case err == nil, errors.Is(err, os.ErrNotExist):
		case openElsewhere(file.path, err):
			left = append(left, inboxFileInUse(filepath.Base(file.path), err))
		default:
			left = append(left, &problem.Problem{Place: filepath.Base(file.path), What: "the file was read, and can't be taken out of inbox/", Code: codeNoPermission, Cause: err,
				Hint: "check who owns inbox/ and delete the file: archive/ has its copy"})
		}
	}
	return left
}

// hashOf is the SHA-256 of a file, in hexadecimal.
func hashOf(path string) (string, error) {
	file, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	hash := sha256.New()
	_, err = io.Copy(hash, file)
	return fmt.Sprintf("%x", hash.Sum(nil)), err
}

// writeFile writes a private file, which appears whole or not at all.
func writeFile(path string, data []byte) error {
	temporary, err := os.CreateTemp(filepath.Dir(path), warehouse.UnfinishedPrefix)
	if err != nil {
		return err
	}
	_, err = temporary.Write(data)
	if err = errors.Join(err, temporary.Sync(), temporary.Close()); err != nil {
		return errors.Join(err, os.Remove(temporary.Name()))
	}
	return settleTemporary(temporary.Name(), path)
}

// copyFile copies source to target, which appears whole or not at all, and holds it
// against the hash that was read.
func copyFile(target, source, sha string) error {
	from, err := os.Open(source)
	if err != nil {
		return err
	}
	defer from.Close()
	temporary, err := os.CreateTemp(filepath.Dir(target), warehouse.UnfinishedPrefix)
	if err != nil {
		return err
	}
	hash := sha256.New()
	_, err = io.Copy(io.MultiWriter(temporary, hash), from)
	err = errors.Join(err, temporary.Sync(), temporary.Close())
	if err == nil && fmt.Sprintf("%x", hash.Sum(nil)) != sha {
		err = problem.List{{Place: filepath.Base(source), What: "the file changed while it was read", Code: ingest.CodeFileChanged, Hint: "wait until it is complete, then try again"}}
	}
	if err != nil {
		return errors.Join(err, os.Remove(temporary.Name()))
	}
	return settleTemporary(temporary.Name(), target)
}

// settleTemporary settles a file that was written for this alone: when it can't be renamed it is
// taken away.
func settleTemporary(temporary, target string) error {
	err := settle(temporary, target)
	if err == nil {
		return nil
	}
	// Where the folder alone can't be written, it has its name already.
	if left := os.Remove(temporary); !errors.Is(left, os.ErrNotExist) {
		err = errors.Join(err, left)
	}
	return err
}

// settle renames a whole file to its place and has the system write the folder, so that the
// name outlasts a loss of power. Systems that can't write a folder do it by themselves.
func settle(temporary, target string) error {
	if err := os.Rename(temporary, target); err != nil {
		return err
	}
	folder, err := os.Open(filepath.Dir(target))
	if err != nil {
		return err
	}
	folder.Sync()
	return folder.Close()
}
