//go:build unix

package warehouse

import "syscall"

// onlyOwner makes files created from now on readable by their owner alone, and returns
// what puts the old rule back. The engine creates its files 0644 otherwise.
func onlyOwner() func() {
	old := syscall.Umask(0o077)
	return func() { syscall.Umask(old) }
}
