package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"trusstally/ingest"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

func (p *program) verifyCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "verify",
		Short: "Read all of the warehouse and archive/ again and hold them against their checksums",
		Long: `Reads every row of every table of the warehouse, and thereby every block that holds
them against the checksum in it; every file in archive/ against the SHA-256 of the
file that was read; and builds the ledgers anew in a copy, to see whether the feeds
still give what the books were written from. It says what it read, or lists all
that differs and exits 1.

It takes the plant's lock, so that nothing changes meanwhile, and changes nothing:
the copy lies in the plant's folder for the time and needs as much room as the
warehouse. Whether the figures balance is the business of trusstally check.`,
		Example: `  # Once a month, and after the disk has had trouble
  trusstally verify --plant mill

  # For a program
  trusstally verify --plant mill --json`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			f, lock, err := p.lockedFolder()
			if err != nil {
				return err
			}
			defer lock.Release()
			v := &verification{}
			if err := p.verify(command.Context(), f, v); err != nil {
				return err
			}
			return p.printVerification(v)
		},
	}
}

// verification is what verify read, and what is not as it was.
type verification struct {
	Tables     int          `json:"tables"`      // of the warehouse
	Rows       int64        `json:"rows"`        // of all of them
	Archived   int          `json:"archived"`    // files in archive/ that were held against their hashes
	Compared   int          `json:"compared"`    // tables held against those that the feeds give today
	NotRebuilt string       `json:"not_rebuilt"` // why the ledgers were not built anew, or ""
	Problems   problem.List `json:"problems"`
}

// verify fills v. A warehouse that can't be opened is a problem like others, and archive/ is
// read all the same: it may be what is left.
func (p *program) verify(ctx context.Context, f *folder, v *verification) error {
	copies, err := p.verifyTables(ctx, f, v)
	var unreadable problem.List
	if errors.As(err, &unreadable) && unreadable[0].Code == warehouse.CodeWarehouseUnreadable {
		v.Problems, err = append(v.Problems, unreadable...), nil
	}
	if err != nil {
		return err
	}
	whole := len(v.Problems) == 0
	if copies == nil && !whole {
		if copies, err = copiesByName(f); err != nil {
			return err
		}
	}
	if err := p.verifyArchive(copies, v); err != nil {
		return err
	}
	// What can't be read can't be copied and built from either.
	if !whole {
		v.NotRebuilt = "the warehouse is damaged"
		return nil
	}
	return p.verifyLedgers(ctx, f, v)
}

// verifyTables reads every table. After a damaged one the engine trusts nothing of the file
// any more, so the warehouse is opened anew for the next. It returns the files of the import
// log, nil when the log is in the damaged part.
func (p *program) verifyTables(ctx context.Context, f *folder, v *verification) ([]ingest.Copy, error) {
	w, err := p.openLocked(ctx, f)
	if err != nil {
		return nil, err
	}
	defer func() { w.Close() }()
	tables, err := w.ListTables(ctx)
	if err != nil {
		return nil, err
	}
	var copies []ingest.Copy
	bar := p.progress(len(tables), "reading tables")
	for _, table := range tables {
		read, err := w.ReadTable(ctx, table)
		var damage problem.List
		switch {
		case errors.As(err, &damage):
			v.Problems = append(v.Problems, damage...)
			if err := w.Close(); err != nil {
				return nil, err
			}
			reader, err := p.openLocked(ctx, f)
			if err != nil {
				return nil, err
			}
			w = reader
		case err != nil:
			return nil, fmt.Errorf("read %s: %w", table, err)
		case table == "main.imports":
			if copies, err = archivedCopies(ctx, w, f); err != nil {
				return nil, err
			}
		}
		v.Tables++
		v.Rows += read.Rows
		bar.Add(1)
	}
	bar.Finish()
	return copies, nil
}

// verifyArchive holds every file of the import log against its copy.
func (p *program) verifyArchive(copies []ingest.Copy, v *verification) error {
	bar := p.progress(len(copies), "reading archive/")
	for _, one := range copies {
		var differs problem.List
		if err := one.Verify(); errors.As(err, &differs) {
			v.Problems = append(v.Problems, differs...)
		} else if err != nil {
			return err
		}
		v.Archived++
		bar.Add(1)
	}
	bar.Finish()
	return nil
}

// copiesByName are the files in archive/, each with the hash that its name says.
func copiesByName(f *folder) ([]ingest.Copy, error) {
	entries, err := os.ReadDir(f.archive())
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var copies []ingest.Copy
	for _, entry := range entries {
		if name := archivedName.FindStringSubmatch(entry.Name()); name != nil {
			copies = append(copies, ingest.Copy{Name: entry.Name(), SHA256: name[1], Path: filepath.Join(f.archive(), entry.Name())})
		}
	}
	return copies, nil
}

var archivedName = regexp.MustCompile(`^([0-9a-f]{64})(\.\w+)?$`)

// archivedCopies are the files of the import log, each once, in the order of reading. Those
// of undone imports stay in archive/ too.
func archivedCopies(ctx context.Context, w *warehouse.Warehouse, f *folder) ([]ingest.Copy, error) {
	rows, err := w.DB.QueryContext(ctx, "SELECT min_by(file_name, import_id), sha256, archive_name FROM imports GROUP BY sha256, archive_name ORDER BY min(import_id)")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var copies []ingest.Copy
	for rows.Next() {
		var one ingest.Copy
		var name string
		if err := rows.Scan(&one.Name, &one.SHA256, &name); err != nil {
			return nil, err
		}
		one.Path = filepath.Join(f.archive(), name)
		copies = append(copies, one)
	}
	return copies, rows.Err()
}

// verifyLedgers builds the ledgers anew in a copy of the warehouse. Ledgers of another
// version or of another plant.toml are no fault: the next run builds them.
func (p *program) verifyLedgers(ctx context.Context, f *folder, v *verification) error {
	w, err := p.openLocked(ctx, f)
	if err != nil {
		return err
	}
	stale, err := warehouse.LedgersStale(ctx, w.DB, f.settings)
	if err := errors.Join(err, w.Close()); err != nil {
		return err
	}
	if stale {
		v.NotRebuilt = "plant.toml or the program has changed since they were built: trusstally run builds them anew"
		return nil
	}
	scratch, err := os.MkdirTemp(f.path, warehouse.UnfinishedPrefix)
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	file := filepath.Join(scratch, warehouse.FileName)
	for _, ending := range []string{"", ".wal"} {
		if err := copyPrivate(file+ending, f.warehouse()+ending); err != nil && (ending == "" || !errors.Is(err, os.ErrNotExist)) {
			return err
		}
	}
	double, err := warehouse.Open(ctx, file)
	if err != nil {
		return err
	}
	differ, compared, err := double.RebuiltLedgers(ctx, f.settings)
	if err := errors.Join(err, double.Close()); err != nil {
		return err
	}
	v.Compared = compared
	for _, table := range differ {
		v.Problems = append(v.Problems, &problem.Problem{Place: warehouse.FileName, What: fmt.Sprintf("the table %s does not hold what the feeds give", strings.TrimPrefix(table, "main.")),
			Code: codeLedgersDiffer, Hint: "a fault of trusstally, or a warehouse that something else has changed: keep the books back, put back a backup or report it with this text", Group: "ledgers differ"})
	}
	return nil
}

// copyPrivate copies a file that holds wages: its copy is readable by its owner alone.
func copyPrivate(target, source string) error {
	from, err := os.Open(source)
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := os.OpenFile(target, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, from)
	return errors.Join(err, to.Close())
}

// printVerification says what was read, and exits 1 when any of it is not as it was.
func (p *program) printVerification(v *verification) error {
	if p.asJSON {
		type line struct {
			Place string `json:"place"`
			What  string `json:"what"`
			Code  string `json:"code"`
		}
		lines := []line{}
		for _, one := range v.Problems {
			lines = append(lines, line{one.Place, one.What, one.Code})
		}
		if err := p.printJSON(struct {
			verification
			Problems []line `json:"problems"`
		}{*v, lines}); err != nil {
			return err
		}
	} else {
		v.Problems.Print(p.stdout, p.verbose)
		state := func(good, bad string, codes ...string) string {
			for _, one := range v.Problems {
				for _, code := range codes {
					if one.Code == code {
						return bad
					}
				}
			}
			return good
		}
		fmt.Fprintf(p.stdout, "%s: %s, %s: %s\n", warehouse.FileName, counted(int64(v.Tables), "table"), counted(v.Rows, "row"),
			state("every checksum holds", "DAMAGED", warehouse.CodeDamagedTable, warehouse.CodeWarehouseUnreadable))
		fmt.Fprintf(p.stdout, "archive/: %s: %s\n", counted(int64(v.Archived), "file"),
			state("each is what was read", "NOT ALL ARE WHAT WAS READ", ingest.CodeArchiveMissing, ingest.CodeArchiveDiffers, ingest.CodeCannotRead))
		if v.NotRebuilt != "" {
			fmt.Fprintf(p.stdout, "ledgers: not built anew: %s\n", v.NotRebuilt)
		} else {
			fmt.Fprintf(p.stdout, "ledgers: built anew in a copy, %s compared: %s\n", counted(int64(v.Compared), "table"), state("all the same", "NOT ALL ARE THE SAME", codeLedgersDiffer))
		}
	}
	if len(v.Problems) > 0 {
		return exitCode(exitData)
	}
	return nil
}
