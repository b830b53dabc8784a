package main

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// incoming is a file that belongs to a feed.
type incoming struct {
	path string
	feed ingest.Feed
}

// landed is what became of a set of files.
type landed struct {
	receipts []*ingest.Receipt
	read     []incoming // files that are in the warehouse now, or were before
	refused  problem.List
	files    int // files refused as a whole
}

func (l *landed) sum(of func(*ingest.Receipt) int64) (total int64) {
	for _, receipt := range l.receipts {
		total += of(receipt)
	}
	return total
}

func (l *landed) rejectedFiles() (n int) {
	for _, receipt := range l.receipts {
		if receipt.Rejected > 0 {
			n++
		}
	}
	return n
}

// problems returns everything that was refused, whole files first.
func (l *landed) problems() problem.List {
	all := append(problem.List{}, l.refused...)
	for _, receipt := range l.receipts {
		all = append(all, receipt.Problems...)
	}
	return all
}

// land reads the files into the warehouse and rebuilds the ledgers, in one transaction.
// A file that is refused as a whole changes nothing and the others go on. With dryRun
// everything is rolled back at the end.
func (p *program) land(ctx context.Context, f *folder, files []incoming, acceptRemovals, dryRun bool) (*landed, error) {
	w, err := warehouse.Open(ctx, f.warehouse())
	if err != nil {
		return nil, err
	}
	defer w.Close()
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		return nil, err
	}
	result, err := p.landInside(ctx, tx, f, files, acceptRemovals, dryRun)
	if err != nil {
		return nil, errors.Join(err, tx.Rollback())
	}
	if dryRun {
		return result, tx.Rollback()
	}
	return result, tx.Commit()
}

func (p *program) landInside(ctx context.Context, tx *sql.Tx, f *folder, files []incoming, acceptRemovals, dryRun bool) (*landed, error) {
	result := &landed{}
	bar := p.progress(len(files)+1, "reading files")
	for _, file := range files {
		receipt, err := ingest.Land(ctx, tx, file.feed, file.path, f.landing(file.feed, acceptRemovals))
		var refused problem.List
		switch {
		case errors.As(err, &refused):
			result.refused = append(result.refused, refused...)
			result.files++
		case err != nil:
			return nil, fmt.Errorf("%s: %w", filepath.Base(file.path), err)
		default:
			result.receipts = append(result.receipts, receipt)
			result.read = append(result.read, file)
			if !dryRun && (!receipt.AlreadyRead || !f.archived(receipt)) {
				if err := f.keep(file, receipt); err != nil {
					return nil, err
				}
			}
		}
		bar.Add(1)
	}
	stale, err := warehouse.LedgersStale(ctx, tx, f.settings)
	if err != nil {
		return nil, err
	}
	fresh := result.sum(func(r *ingest.Receipt) int64 {
		if r.AlreadyRead {
			return 0
		}
		return 1
	})
	if stale || fresh > 0 {
		bar.Describe("building ledgers")
		if err := warehouse.BuildLedgers(ctx, tx, f.settings); err != nil {
			return nil, err
		}
	}
	bar.Add(1)
	bar.Finish()
	return result, nil
}

// archived says whether archive/ has the copy of a file that was read.
func (f *folder) archived(receipt *ingest.Receipt) bool {
	_, err := os.Lstat(filepath.Join(f.archive(), ingest.ArchiveName(receipt.FileName, receipt.SHA256)))
	return err == nil
}

// keep copies the file to archive/ under its SHA-256 and writes what was refused of it to
// rejects/. Both can hold pay and are readable by their owner alone.
func (f *folder) keep(file incoming, receipt *ingest.Receipt) error {
	if err := os.MkdirAll(f.archive(), 0o700); err != nil {
		return err
	}
	target := filepath.Join(f.archive(), ingest.ArchiveName(receipt.FileName, receipt.SHA256))
	if err := copyFile(target, file.path, receipt.SHA256); err != nil {
		return err
	}
	if receipt.RejectsCSV == nil {
		return nil
	}
	if err := os.MkdirAll(f.rejects(), 0o700); err != nil {
		return err
	}
	name := ingest.RejectsName(receipt.FileName, file.feed, receipt.ImportID, f.settings.Feeds)
	return writeFile(filepath.Join(f.rejects(), name), receipt.RejectsCSV)
}

// writeFile writes a private file by way of a temporary name.
func writeFile(path string, data []byte) error {
	temporary, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	_, err = temporary.Write(data)
	if err = errors.Join(err, temporary.Close()); err != nil {
		return errors.Join(err, os.Remove(temporary.Name()))
	}
	return os.Rename(temporary.Name(), path)
}

// copyFile copies source to target, which appears whole or not at all, and holds it
// against the hash that was read.
func copyFile(target, source, sha string) error {
	from, err := os.Open(source)
	if err != nil {
		return err
	}
	defer from.Close()
	temporary, err := os.CreateTemp(filepath.Dir(target), ".copy-*")
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
	return os.Rename(temporary.Name(), target)
}

// sortIncoming puts files in the order in which they are read: by feed, then the older
// file first, then by name. The newest is read last and is the truth for its groups.
func sortIncoming(files []incoming) {
	place := map[string]int{}
	for i, name := range feedNames() {
		place[name] = i
	}
	age := map[string]int64{}
	for _, file := range files {
		if info, err := os.Stat(file.path); err == nil { // one that is gone is refused by name
			age[file.path] = info.ModTime().Unix()
		}
	}
	sort.SliceStable(files, func(i, j int) bool {
		a, b := files[i], files[j]
		if a.feed.Name != b.feed.Name {
			return place[a.feed.Name] < place[b.feed.Name]
		}
		if age[a.path] != age[b.path] {
			return age[a.path] < age[b.path]
		}
		return a.path < b.path
	})
}
