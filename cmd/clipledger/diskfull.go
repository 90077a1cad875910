package main

import (
	"errors"
	"runtime"
	"syscall"
)

// windowsDiskFull is Windows' own number for it (ERROR_DISK_FULL, winerror.h).
const windowsDiskFull = syscall.Errno(112)

// isFull tells whether the system refused a write for want of room: the disk
// is full, the user's share of it is, or the file is as long as one can be.
func isFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG) ||
		runtime.GOOS == "windows" && errors.Is(err, windowsDiskFull)
}
