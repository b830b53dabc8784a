//go:build unix

package warehouse

import (
	"errors"
	"os"
	"syscall"
)

// lockFile locks the open file for this process alone, without waiting.
func lockFile(file *os.File) error {
	err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return errHeld
	}
	return err
}

// running says whether there is a process of that number.
func running(process int) bool {
	err := syscall.Kill(process, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}

// heldElsewhere is false here: the engine itself says that another process has the file.
func heldElsewhere(string) bool { return false }
