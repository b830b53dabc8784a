package workbook

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// UnfinishedPrefix begins the temporary name under which files are written. A process that
// is killed leaves such a file.
const UnfinishedPrefix = ".unfinished-"

// WriteFile writes the book to a file of this mode, as WriteWhole does.
func WriteFile(path string, mode os.FileMode, book Book) error {
	return WriteWhole(path, mode, func(w io.Writer) error { return Write(w, book) })
}

// WriteWhole writes a file of this mode, whatever the umask. It is written under a temporary
// name beside it and renamed: the file at path is the old one or the whole new one. Errors
// of write are wrapped, and leave the old one.
func WriteWhole(path string, mode os.FileMode, write func(io.Writer) error) (failed error) {
	file, err := os.CreateTemp(filepath.Dir(path), UnfinishedPrefix+"*"+filepath.Ext(path))
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	defer func() {
		if failed != nil {
			failed = errors.Join(failed, os.Remove(file.Name()))
		}
	}()
	err = write(file)
	if err == nil {
		err = errors.Join(file.Chmod(mode), file.Sync())
	}
	if err = errors.Join(err, file.Close()); err != nil {
		return err
	}
	if err := os.Rename(file.Name(), path); err != nil {
		return err
	}
	// The new name is to outlast a loss of power; systems that can't write a folder do it by
	// themselves.
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return nil
	}
	folder.Sync()
	return folder.Close()
}
