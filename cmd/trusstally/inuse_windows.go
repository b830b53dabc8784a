package main

import (
	"errors"

	"golang.org/x/sys/windows"
)

// openElsewhere says whether the error of reading, replacing or removing the file comes of
// another program that has it open. To replace such a file is refused as if it were
// forbidden: asking for the right to remove it tells which of the two it is.
func openElsewhere(path string, err error) bool {
	switch {
	case errors.Is(err, windows.ERROR_SHARING_VIOLATION), errors.Is(err, windows.ERROR_LOCK_VIOLATION):
		return true
	case !errors.Is(err, windows.ERROR_ACCESS_DENIED):
		return false
	}
	name, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return false
	}
	handle, err := windows.CreateFile(name, windows.DELETE, windows.FILE_SHARE_READ|windows.FILE_SHARE_WRITE|windows.FILE_SHARE_DELETE, nil, windows.OPEN_EXISTING, 0, 0)
	if err == nil {
		windows.CloseHandle(handle)
	}
	return errors.Is(err, windows.ERROR_SHARING_VIOLATION)
}
