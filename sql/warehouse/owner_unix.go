//go:build unix

package warehouse

import (
	"errors"
	"io/fs"
	"os"
	"sync"
	"syscall"
)

// writers counts the open writers of this process, whose rule for new files is one.
var writers struct {
	sync.Mutex
	open int
	old  int
}

// onlyOwner makes files created from now on readable by their owner alone, and returns
// what puts the old rule back when the last writer has called it. The engine creates its
// files 0644 otherwise: the .wal too, with each commit after a checkpoint.
func onlyOwner() func() {
	writers.Lock()
	defer writers.Unlock()
	if writers.open == 0 {
		writers.old = syscall.Umask(0o077)
	}
	writers.open++
	return sync.OnceFunc(func() {
		writers.Lock()
		defer writers.Unlock()
		if writers.open--; writers.open == 0 {
			syscall.Umask(writers.old)
		}
	})
}

// closeToOthers makes a file that is there readable by its owner alone. One that is there no
// more is no fault, nor is a file of another owner, who decides about it.
func closeToOthers(file string) error {
	info, err := os.Stat(file)
	if err == nil && info.Mode().Perm()&0o077 != 0 {
		err = os.Chmod(file, info.Mode().Perm()&^0o077)
	}
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrPermission) {
		return nil
	}
	return err
}
