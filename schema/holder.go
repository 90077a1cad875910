package schema

// Who keeps a ledger from being used. SQLite locks three places in the file,
// and the system knows which process holds them: one that writes, one that
// waits to write, and any that read. The places are those of SQLite's file
// format ("Database File Format", section on the lock-byte page, and
// os_unix.c): the pending byte at 1 GiB, the reserved byte after it, and 510
// bytes for readers.

// Holder is a process that has a ledger locked.
type Holder struct {
	PID     int    // 0 where the system does not say, as on a network share
	Program string // "" where the system does not say
	Writes  bool   // else it only reads
}

const (
	pendingByte  = 0x40000000
	reservedByte = pendingByte + 1
	sharedFirst  = pendingByte + 2
	sharedSize   = 510
)
