package monitor_test

import (
	"os"
	"testing"
)

// The tests make many small ledgers, each with full synchronisation. Where
// the system has a file system in memory, their files go there.
func TestMain(m *testing.M) {
	const memory = "/dev/shm"
	if os.Getenv("TMPDIR") == "" {
		if f, err := os.CreateTemp(memory, "clipledger-test"); err == nil {
			f.Close()
			os.Remove(f.Name())
			os.Setenv("TMPDIR", memory)
		}
	}
	m.Run()
}
