package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"clipledger/monitor/needtool"
	"clipledger/schema"
)

// inNamespace is set for a test that runs itself again where it may mount.
const inNamespace = "CLIPLEDGER_TEST_MOUNTS"

// mayMount tells whether the test can go on to mount file systems. Without
// that right it runs once more in a name space of its own, in which every user
// may, and false says that it is over.
func mayMount(t *testing.T) bool {
	t.Helper()
	if dir := t.TempDir(); syscall.Mount("none", dir, "tmpfs", 0, "size=64k") == nil {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Fatal(err)
		}
		return true
	}
	if os.Getenv(inNamespace) != "" {
		t.Fatal("no file system can be mounted in a name space of its own either")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	again := exec.Command(self, "-test.v", "-test.run=^"+t.Name()+"$")
	again.Env = append(os.Environ(), inNamespace+"=1")
	again.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	out, err := again.CombinedOutput()
	var exit *exec.ExitError
	switch {
	case err != nil && (!errors.As(err, &exit) || strings.Contains(string(out), "no file system can be mounted")):
		needtool.NoRight(t, "the right to mount a small file system")
	case err != nil:
		t.Fatalf("in a name space of its own: %v\n%s", err, out)
	}
	return false
}

// mount mounts a file system on a folder of the test.
func mount(t *testing.T, source, kind string, flags uintptr, data string) string {
	t.Helper()
	dir, err := os.MkdirTemp(t.TempDir(), "disk")
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount(source, dir, kind, flags, data); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	if flags&syscall.MS_BIND != 0 { // a bind is made read-only once it is there
		if err := syscall.Mount("none", dir, "", flags|syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// clipledger runs the program as a process of its own.
func clipledger(t *testing.T, args ...string) outcome {
	t.Helper()
	return runProcess(t, exec.Command("clipledger", args...))
}

func runProcess(t *testing.T, cmd *exec.Cmd) outcome {
	t.Helper()
	cmd.Env = append(os.Environ(), nowVariable+"="+testNow)
	var out, errs strings.Builder
	if cmd.Stdout == nil {
		cmd.Stdout = &out
	}
	cmd.Stderr = &errs
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return outcome{cmd.ProcessState.ExitCode(), out.String(), errs.String()}
}

// soundState verifies a ledger as the next program finds it, and tells what
// record it holds.
func soundState(t *testing.T, path string) string {
	t.Helper()
	ctx := context.Background()
	l, err := schema.OpenRead(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	digest := ""
	err = l.Read(ctx, func(s *schema.Snapshot) error {
		checks, err := s.Verify()
		for _, c := range checks {
			for _, f := range c.Faults {
				t.Errorf("verify, %s: %s", c.Name, f)
			}
		}
		if err == nil {
			digest, err = s.Digest()
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return digest
}

// clippingsTable writes clippings of a site, n frames a year in ten years.
func clippingsTable(t *testing.T, path, site string, n int) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("site,year,frame,frame_type,component,dry_g,note\n")
	for i := range 10 * n {
		fmt.Fprintf(&b, "%s,%d,%d,0.25 m2,herbaceous,%d.%d,a note that takes room on the disk\n", site, 2010+i/n, i%n, 5+i%37, i%10)
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// readFile reads a whole file.
func readFile(t *testing.T, path string) string {
	t.Helper()
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(content)
}

// copyFile copies a file.
func copyFile(t *testing.T, from, to string) {
	t.Helper()
	if err := os.WriteFile(to, []byte(readFile(t, from)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// isThere tells whether a name is taken.
func isThere(parts ...string) bool {
	_, err := os.Lstat(filepath.Join(parts...))
	return err == nil
}
