package warehouse

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile locks the open file for this process alone, without waiting. It locks a byte far
// behind the text, which others may go on reading.
func lockFile(file *os.File) error {
	err := windows.LockFileEx(windows.Handle(file.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errHeld
	}
	return err
}

// running says whether there is a process of that number.
func running(process int) bool {
	handle, err := windows.OpenProcess(windows.PROCESS_QUERY_LIMITED_INFORMATION, false, uint32(process))
	if err != nil {
		return errors.Is(err, windows.ERROR_ACCESS_DENIED)
	}
	windows.CloseHandle(handle)
	return true
}

// heldElsewhere says whether another process keeps the file from being opened for reading
// and writing.
func heldElsewhere(file string) bool {
	name, err := windows.UTF16PtrFromString(file)
	if err != nil {
		return false
	}
	handle, err := windows.CreateFile(name, windows.GENERIC_READ|windows.GENERIC_WRITE, windows.FILE_SHARE_READ|windows.FILE_SHARE_WRITE|windows.FILE_SHARE_DELETE, nil, windows.OPEN_EXISTING, 0, 0)
	if err == nil {
		windows.CloseHandle(handle)
	}
	return errors.Is(err, windows.ERROR_SHARING_VIOLATION)
}
