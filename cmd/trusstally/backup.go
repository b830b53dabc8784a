package main

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

func (p *program) backupCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the whole plant into one zip file, and read it back",
		Long: `Writes plant.toml, reports/, templates/, the warehouse, archive/, rejects/, inbox/ and
books/ without its logs into FILE, a zip file that any unpacking program opens, and
reads it back to see that it holds what was written. It takes the plant's lock, so that
all of it is of one moment, and changes nothing in the plant's folder. A file that is
there already is left alone.

FILE holds wages. It is readable by its owner alone; keep it where nobody else is.

To restore, unpack FILE into an empty folder and run: trusstally run --plant FOLDER`,
		Example: `  # To another disk, by the day
  trusstally backup /backup/mill-2026-11-23.zip --plant mill`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			f, lock, err := p.lockedFolder()
			if err != nil {
				return err
			}
			defer lock.Release()
			b, err := p.backup(command.Context(), f, args[0])
			if err != nil {
				return err
			}
			if p.asJSON {
				return json.NewEncoder(p.stdout).Encode(b)
			}
			fmt.Fprintf(p.stdout, "%s: %s, %s, read back and the same. It holds wages: keep it where nobody else is.\n",
				b.File, counted(int64(b.Files), "file"), inSize(b.Bytes))
			return nil
		},
	}
}

// backedUp is what a backup holds.
type backedUp struct {
	File  string `json:"file"`
	Files int    `json:"files"`
	Bytes int64  `json:"bytes"` // of the backup
}

// backedUpFolders are the folders of a plant that a backup holds; logs are left out.
var backedUpFolders = []string{"archive", "books", "inbox", "rejects", "reports", templatesFolder}

// backup writes the plant into target, which appears whole or not at all, and reads it back.
func (p *program) backup(ctx context.Context, f *folder, target string) (*backedUp, error) {
	if _, err := os.Lstat(target); err == nil {
		return nil, problem.List{{Place: filepath.ToSlash(target), What: "there is a file of that name already", Code: codeFileExists, Usage: true, Hint: "choose another name, such as one with the date in it"}}
	}
	// While a reader has the warehouse, no other version of the program can write it either.
	if _, err := os.Stat(f.warehouse()); err == nil {
		w, err := p.openLocked(ctx, f)
		if err != nil {
			return nil, err
		}
		defer w.Close()
	}
	files, err := plantFiles(f.path, target)
	if err != nil {
		return nil, err
	}
	temporary, err := os.CreateTemp(filepath.Dir(target), warehouse.UnfinishedPrefix)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, problem.List{{Place: filepath.ToSlash(target), What: "there is no such folder", Code: codeCannotWrite, Usage: true, Hint: "make the folder first, or name another one", Cause: err}}
	}
	if err != nil {
		return nil, err
	}
	hashes, err := p.zipFiles(temporary, f.path, files)
	err = errors.Join(err, temporary.Sync(), temporary.Close())
	if err == nil {
		err = readBack(temporary.Name(), target, files, hashes)
	}
	if err != nil {
		return nil, errors.Join(err, os.Remove(temporary.Name()))
	}
	if err := settleTemporary(temporary.Name(), target); err != nil {
		return nil, err
	}
	info, err := os.Stat(target)
	if err != nil {
		return nil, err
	}
	return &backedUp{File: filepath.ToSlash(target), Files: len(files), Bytes: info.Size()}, nil
}

// plantFiles names the regular files of a plant that a backup holds, as paths within its
// folder with forward slashes, in order. What is being written, and the backup itself, is
// left out.
func plantFiles(root, target string) ([]string, error) {
	var files []string
	for _, name := range []string{plant.FileName, warehouse.FileName, warehouse.FileName + ".wal"} {
		if info, err := os.Stat(filepath.Join(root, name)); err == nil && info.Mode().IsRegular() {
			files = append(files, name)
		}
	}
	itself, err := filepath.Abs(target)
	if err != nil {
		return nil, err
	}
	for _, folder := range backedUpFolders {
		err := fs.WalkDir(os.DirFS(root), folder, func(name string, entry fs.DirEntry, err error) error {
			switch {
			case errors.Is(err, fs.ErrNotExist) && name == folder:
				return fs.SkipDir
			case err != nil:
				return err
			case name == path.Join("books", logsFolder):
				return fs.SkipDir
			case strings.HasPrefix(entry.Name(), warehouse.UnfinishedPrefix):
				if entry.IsDir() {
					return fs.SkipDir
				}
				return nil
			case !entry.Type().IsRegular():
				return nil
			}
			if whole, err := filepath.Abs(filepath.Join(root, filepath.FromSlash(name))); err != nil || whole == itself {
				return err
			}
			files = append(files, name)
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return files, nil
}

// zipFiles writes the files into the zip file and returns the SHA-256 of each, in order.
func (p *program) zipFiles(out io.Writer, root string, files []string) ([][sha256.Size]byte, error) {
	archive := zip.NewWriter(out)
	bar := p.progress(len(files), "writing the backup")
	var hashes [][sha256.Size]byte
	for _, name := range files {
		hash, err := zipFile(archive, filepath.Join(root, filepath.FromSlash(name)), name)
		if err != nil {
			return nil, err
		}
		hashes = append(hashes, hash)
		bar.Add(1)
	}
	bar.Finish()
	return hashes, archive.Close()
}

func zipFile(archive *zip.Writer, file, name string) (hash [sha256.Size]byte, err error) {
	from, err := os.Open(file)
	if err != nil {
		return hash, err
	}
	defer from.Close()
	info, err := from.Stat()
	if err != nil {
		return hash, err
	}
	header := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: info.ModTime().UTC().Truncate(time.Second)}
	header.SetMode(info.Mode().Perm())
	to, err := archive.CreateHeader(header)
	if err != nil {
		return hash, err
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(to, sum), from); err != nil {
		return hash, err
	}
	return [sha256.Size]byte(sum.Sum(nil)), nil
}

// readBack reads every file of the backup again and holds it against what was written.
func readBack(file, target string, files []string, hashes [][sha256.Size]byte) error {
	differs := func(what string, cause error) error {
		return problem.List{{Place: filepath.ToSlash(target), What: what, Code: codeBackupDiffers, Hint: "the disk may be full or failing: make the backup on another one", Cause: cause}}
	}
	archive, err := zip.OpenReader(file)
	if err != nil {
		return differs("the backup can't be read back", err)
	}
	defer archive.Close()
	if len(archive.File) != len(files) {
		return differs(fmt.Sprintf("the backup holds %d files in place of %d", len(archive.File), len(files)), nil)
	}
	for i, part := range archive.File {
		sum := sha256.New()
		from, err := part.Open()
		if err == nil {
			_, err = io.Copy(sum, from)
			err = errors.Join(err, from.Close())
		}
		if err != nil || part.Name != files[i] || [sha256.Size]byte(sum.Sum(nil)) != hashes[i] {
			return differs(fmt.Sprintf("%s in the backup is not what was written", files[i]), err)
		}
	}
	return nil
}

// inSize writes a number of bytes for people.
func inSize(bytes int64) string {
	switch {
	case bytes >= 1<<20:
		return fmt.Sprintf("%.1f MB", float64(bytes)/(1<<20))
	default:
		return fmt.Sprintf("%.1f kB", float64(bytes)/(1<<10))
	}
}
