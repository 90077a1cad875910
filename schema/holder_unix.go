//go:build unix

package schema

import (
	"fmt"
	"io"
	"os"
	"strings"
	"syscall"
)

// HolderOf asks the system who has the ledger locked. The answer holds for
// the moment only; ok is false where nobody has, or nobody can tell. It must
// not be asked while this process has the ledger open: closing any of its
// handles lets go of all its locks.
func HolderOf(path string) (h Holder, ok bool) {
	f, err := os.Open(path)
	if err != nil {
		return Holder{}, false
	}
	defer f.Close()
	for _, lock := range []struct {
		start, size int64
		kind        int16
	}{{pendingByte, 1, syscall.F_RDLCK}, {reservedByte, 1, syscall.F_RDLCK}, {sharedFirst, sharedSize, syscall.F_WRLCK}} {
		asked := syscall.Flock_t{Type: lock.kind, Whence: io.SeekStart, Start: lock.start, Len: lock.size}
		if err := syscall.FcntlFlock(f.Fd(), syscall.F_GETLK, &asked); err != nil || asked.Type == syscall.F_UNLCK {
			continue
		}
		h := Holder{PID: max(0, int(asked.Pid)), Writes: asked.Type == syscall.F_WRLCK}
		h.Program = programOf(h.PID)
		return h, true
	}
	return Holder{}, false
}

// programOf is the name of a process, where the system keeps it as Linux does.
func programOf(pid int) string {
	name, err := os.ReadFile(fmt.Sprintf("/proc/%d/comm", pid))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(name))
}
