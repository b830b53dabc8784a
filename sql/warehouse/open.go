package warehouse

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"sort"
	"strconv"
	"strings"

	"github.com/duckdb/duckdb-go/v2"

	"trusstally/ingest/problem"
	"trusstally/sql"
)

// FileName is the name of the warehouse within a plant's folder.
const FileName = "plant.duckdb"

// Warehouse is an open warehouse file. Close it; one writer excludes every reader.
type Warehouse struct {
	DB        *sql.DB
	connector *duckdb.Connector
	limits    Limits // of every Query; the zero value sets none
	reopen    func() // a writer's: lets new files be seen by others again
}

// Close closes the file.
func (w *Warehouse) Close() error {
	if w.reopen != nil {
		defer w.reopen()
	}
	return errors.Join(w.DB.Close(), w.connector.Close())
}

// noExtensions keeps the engine from looking for downloads.
var noExtensions = []string{"SET autoinstall_known_extensions=false", "SET autoload_known_extensions=false"}

// Open opens the warehouse file for writing, creates it when it isn't there (mode 0600),
// and brings its schema up to date. A file held by another process is a problem.List with
// code warehouse-locked. An empty name is a warehouse in memory. Until it is closed, every
// new file of the process is 0600.
func Open(ctx context.Context, file string) (*Warehouse, error) {
	if file != "" {
		if err := create(ctx, file); err != nil {
			return nil, err
		}
		// One that was copied or put back may have come with another mode.
		for _, name := range []string{file, file + ".wal"} {
			if err := closeToOthers(name); err != nil {
				return nil, err
			}
		}
	}
	return openWriter(ctx, file)
}

// create makes the file with its schema when it isn't there, under another name first: the
// engine refuses the part of a file that a process leaves which is killed while it makes one.
func create(ctx context.Context, file string) error {
	if _, err := os.Stat(file); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	unfinished := filepath.Join(filepath.Dir(file), UnfinishedPrefix+filepath.Base(file))
	for _, left := range []string{unfinished, unfinished + ".wal"} {
		if err := os.Remove(left); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	w, err := openWriter(ctx, unfinished)
	if err != nil {
		return err
	}
	_, err = w.DB.ExecContext(ctx, "CHECKPOINT")
	if err := errors.Join(err, w.Close()); err != nil {
		return err
	}
	return os.Rename(unfinished, file)
}

// UnfinishedPrefix begins the name of every file that is being written beside its place, and
// is renamed when it is whole. What a run that was cut short leaves of them the next one
// takes away.
const UnfinishedPrefix = ".unfinished-"

// openWriter opens a file for writing. The rule for new files is put back when it is closed.
func openWriter(ctx context.Context, file string) (*Warehouse, error) {
	restore := onlyOwner()
	w, err := connect(ctx, file, "", append([]string{spillTo(file)}, noExtensions...))
	if err != nil {
		restore()
		return nil, err
	}
	w.reopen = restore
	if err := w.migrate(ctx); err != nil {
		w.Close()
		return nil, err
	}
	return w, nil
}

// spillTo is the statement that says where a writer puts what does not fit its memory: into a
// folder beside the warehouse, which the engine makes when it needs it and takes away again.
// It may hold pay, and is the owner's alone as all that a writer makes. A warehouse in memory
// puts nothing on disk.
func spillTo(file string) string {
	if file == "" {
		return "SET temp_directory=''"
	}
	folder := filepath.Join(filepath.Dir(file), UnfinishedPrefix+"memory")
	return "SET temp_directory='" + strings.ReplaceAll(folder, "'", "''") + "'"
}

// OpenLocked opens the warehouse read-only and locks the connection down: no writing, no
// file or network access, no change of settings. prepare runs before the lock.
func OpenLocked(ctx context.Context, file string, prepare ...string) (*Warehouse, error) {
	if _, err := os.Stat(file); errors.Is(err, os.ErrNotExist) {
		return nil, NothingImported()
	}
	statements := append([]string{}, noExtensions...)
	statements = append(statements, prepare...)
	statements = append(statements, "SET temp_directory=''", "SET enable_external_access=false", "SET lock_configuration=true")
	return connect(ctx, file, "?access_mode=READ_ONLY", statements)
}

// NothingImported is the problem of a plant without a warehouse, or with one that holds
// nothing.
func NothingImported() error {
	return problem.List{{Place: FileName, What: "nothing was imported yet", Code: CodeNoWarehouse, Usage: true,
		Hint: "put files into inbox/ and run: trusstally run --plant DIR"}}
}

// connect opens the file and runs the statements on every new connection.
func connect(ctx context.Context, file, options string, statements []string) (*Warehouse, error) {
	statements = append(threadLimit(), statements...)
	connector, err := duckdb.NewConnector(file+options, func(execer driver.ExecerContext) error {
		for _, statement := range statements {
			if _, err := execer.ExecContext(context.Background(), statement, nil); err != nil {
				return fmt.Errorf("%s: %w", statement, err)
			}
		}
		return nil
	})
	if err != nil {
		return nil, openProblem(file, err)
	}
	db := sql.OpenDB(connector)
	db.SetMaxOpenConns(1) // one connection: temporary tables and the lock belong to it
	if err := db.PingContext(ctx); err != nil {
		db.Close()
		connector.Close()
		return nil, openProblem(file, err)
	}
	return &Warehouse{DB: db, connector: connector}, nil
}

// ThreadsVariable names the environment variable that says how many threads the engine may
// use; without it, as many as there are cores. On small plants a second thread only costs.
const ThreadsVariable = "TRUSSTALLY_THREADS"

func threadLimit() []string {
	threads, err := strconv.ParseUint(os.Getenv(ThreadsVariable), 10, 8)
	if err != nil || threads == 0 {
		return nil
	}
	return []string{fmt.Sprintf("SET threads=%d", threads)}
}

// openProblem is what the engine says about opening the file, in the reader's words. What the
// engine takes from the system is in the system's language, and is asked for anew by number.
func openProblem(file string, err error) error {
	text := err.Error()
	switch {
	case strings.Contains(text, "Could not set lock on file"), strings.Contains(text, "different configuration"),
		strings.Contains(text, "Cannot open file") && heldElsewhere(file):
		return lockedProblem(holder(text), err)
	case strings.Contains(text, "not a valid DuckDB database file"), strings.Contains(text, "IO Error"), strings.Contains(text, "Serialization Error"):
		return problem.List{{Place: FileName, What: "the warehouse can't be opened", Code: CodeWarehouseUnreadable,
			Hint: "check that the file is there and yours; a copy from before can be put back, or delete it and import archive/ again", Cause: err}}
	}
	return err
}

// holder takes the process out of the engine's lock message.
func holder(text string) string {
	const mark = "(PID "
	if at := strings.Index(text, mark); at >= 0 {
		rest := text[at+len(mark):]
		if end := strings.IndexByte(rest, ')'); end > 0 {
			if process, err := strconv.Atoi(rest[:end]); err == nil {
				return describeProcess(process)
			}
		}
	}
	return ""
}

// migrate runs the schema files that the warehouse hasn't had, in order, each in its own
// transaction.
func (w *Warehouse) migrate(ctx context.Context) error {
	if _, err := w.DB.ExecContext(ctx, "CREATE TABLE IF NOT EXISTS schema_versions (version INTEGER NOT NULL, file_name VARCHAR NOT NULL)"); err != nil {
		return err
	}
	var current int
	if err := w.DB.QueryRowContext(ctx, "SELECT coalesce(max(version), 0) FROM schema_versions").Scan(&current); err != nil {
		return err
	}
	files := filesIn("schema")
	if newest := path.Base(files[len(files)-1]); current > schemaNumber(newest) {
		return problem.List{{Place: FileName, What: "a newer version of trusstally has upgraded this warehouse", Code: CodeNewerWarehouse,
			Hint: "install that version on this machine too; nothing was changed"}}
	}
	for _, file := range files {
		version, err := strconv.Atoi(strings.SplitN(path.Base(file), "_", 2)[0])
		if err != nil {
			return fmt.Errorf("schema file %s has no number", file)
		}
		if version <= current {
			continue
		}
		tx, err := w.DB.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		if err := runFile(ctx, tx, file); err != nil {
			return errors.Join(err, tx.Rollback())
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO schema_versions VALUES (?, ?)", version, path.Base(file)); err != nil {
			return errors.Join(err, tx.Rollback())
		}
		if err := tx.Commit(); err != nil {
			return err
		}
	}
	return nil
}

// schemaNumber is the number that a schema file's name begins with; the names are the
// program's own, and migrate refuses one without a number.
func schemaNumber(name string) int {
	number, _ := strconv.Atoi(strings.SplitN(name, "_", 2)[0])
	return number
}

// filesIn lists the SQL files of a folder in order of their names.
func filesIn(folder string) []string {
	entries, err := fs.ReadDir(sqlfiles.Files, folder)
	if err != nil {
		return nil
	}
	var files []string
	for _, entry := range entries {
		if strings.HasSuffix(entry.Name(), ".sql") {
			files = append(files, path.Join(folder, entry.Name()))
		}
	}
	sort.Strings(files)
	return files
}

func runFile(ctx context.Context, tx *sql.Tx, file string) error {
	text, err := fs.ReadFile(sqlfiles.Files, file)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, string(text)); err != nil {
		return fmt.Errorf("sql/%s: %w", file, err)
	}
	return nil
}
