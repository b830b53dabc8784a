package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
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

// land reads the files into the warehouse and brings the ledgers up to date, in one transaction.
// A file that is refused as a whole changes nothing and the others go on. With dryRun
// everything is rolled back at the end. The caller holds the plant's lock.
func (p *program) land(ctx context.Context, f *folder, files []incoming, acceptRemovals, dryRun bool) (*landed, error) {
	w, err := p.openWriter(ctx, f)
	if err != nil {
		return nil, err
	}
	defer w.Close()
	if err := f.tidy(ctx, w.DB); err != nil {
		return nil, err
	}
	temporary, err := os.MkdirTemp(f.path, warehouse.UnfinishedPrefix)
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(temporary)
	result, bound, err := p.landOnce(ctx, w, f, files, acceptRemovals, dryRun, temporary, p.landingMiB())
	if err != nil && bound && warehouse.OutOfMemory(err) {
		// More than the bound lets be put on disk: once more, with all the memory that there is.
		result, _, err = p.landOnce(ctx, w, f, files, acceptRemovals, dryRun, temporary, func(int) int { return 0 })
	}
	return result, err
}

// landOnce is land in one transaction, with that bound of memory while files are read. bound
// says that it still held at the end: an error came up while files were read.
func (p *program) landOnce(ctx context.Context, w *warehouse.Warehouse, f *folder, files []incoming, acceptRemovals, dryRun bool, temporary string, miB func(threads int) int) (result *landed, bound bool, err error) {
	lift, err := w.BoundMemory(ctx, miB)
	if err != nil {
		return nil, false, err
	}
	bound = true
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		return nil, bound, err
	}
	result, err = p.landInside(ctx, tx, f, files, acceptRemovals, dryRun, temporary, func() error {
		bound = false
		return lift(tx)
	})
	switch {
	case err != nil:
		return nil, bound, errors.Join(err, tx.Rollback(), lift(w.DB), f.settleRejects(ctx, w.DB))
	case dryRun:
		return result, bound, tx.Rollback()
	}
	if err := tx.Commit(); err != nil {
		return nil, bound, err
	}
	return result, bound, f.settleRejects(ctx, w.DB)
}

// landingMiB is the bound of memory while files are read, in MiB by threads.
func (p *program) landingMiB() func(int) int {
	if p.boundMiB != nil {
		return p.boundMiB
	}
	return warehouse.LandingMiB
}

func (p *program) landInside(ctx context.Context, tx *sql.Tx, f *folder, files []incoming, acceptRemovals, dryRun bool, temporary string, lift func() error) (*landed, error) {
	result := &landed{}
	// First of all, for the new files may settle what older ones had refused.
	if err := f.readAgain(ctx, tx); err != nil {
		return nil, err
	}
	bar := p.progress(len(files)+1, "reading files")
	for _, file := range files {
		options := f.landing(file.feed, acceptRemovals)
		options.TempDir, options.Now = temporary, p.now()
		receipt, err := ingest.Land(ctx, tx, file.feed, file.path, options)
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
			if !dryRun {
				if err := f.keep(file, receipt); err != nil {
					return nil, err
				}
			}
		}
		bar.Add(1)
	}
	if err := lift(); err != nil {
		return nil, err
	}
	stale, err := warehouse.LedgersStale(ctx, tx, f.settings)
	if err != nil {
		return nil, err
	}
	var fresh []int64
	for _, receipt := range result.receipts {
		if !receipt.AlreadyRead {
			fresh = append(fresh, receipt.ImportID)
		}
	}
	if stale || len(fresh) > 0 {
		bar.Describe("building ledgers")
		if stale {
			err = warehouse.BuildLedgers(ctx, tx, f.settings)
		} else {
			_, err = warehouse.RenewLedgers(ctx, tx, f.settings, fresh)
		}
		if err != nil {
			return nil, err
		}
	}
	bar.Add(1)
	bar.Finish()
	return result, nil
}

// readAgain notes what an older version of the program did not note of the files that it
// read, from their copies in archive/: once, when the warehouse is upgraded.
func (f *folder) readAgain(ctx context.Context, tx *sql.Tx) error {
	older, err := ingest.ListOlder(ctx, tx)
	if err != nil || len(older) == 0 {
		return err
	}
	temporary, err := os.MkdirTemp(f.path, warehouse.UnfinishedPrefix)
	if err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	for _, one := range older {
		options := f.landing(one.Feed, false)
		options.TempDir = temporary
		if err := ingest.ReadAgain(ctx, tx, one, filepath.Join(f.archive(), one.ArchiveName), options); err != nil {
			return fmt.Errorf("%s: %w", one.FileName, err)
		}
	}
	return nil
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
