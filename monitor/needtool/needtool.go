// Package needtool finds the outside programs that tests compare with or
// look at pages through (R, Python with SciPy, Chromium, sqlite3).
//
// A test that needs one calls its function: where the program is missing the
// test is skipped and says so, unless CLIPLEDGER_TOOLS=required is set, as
// the continuous integration does; then the test fails. So a skip can never
// look green there.
package needtool

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// EnvRequired names the variable that turns "tool missing" into a failure.
const EnvRequired = "CLIPLEDGER_TOOLS"

// Required tells whether missing tools must fail the tests.
func Required() bool { return os.Getenv(EnvRequired) == "required" }

// Missing skips the test with a word, or fails it where tools are required.
func Missing(t testing.TB, what string) {
	t.Helper()
	if Required() {
		t.Fatalf("%s is missing and %s=required", what, EnvRequired)
	}
	t.Skipf("skipped: %s is not installed (set %s=required to make this a failure)", what, EnvRequired)
}

// NoRight skips the test with a word where the system does not grant what it
// needs. A right cannot be installed, so it is no failure where tools are
// required either; what runs as root in a container of its own has it.
func NoRight(t testing.TB, what string) {
	t.Helper()
	t.Skipf("skipped: this system does not grant %s", what)
}

// Rscript returns the path of R's script runner after checking that the named
// R packages load.
func Rscript(t testing.TB, packages ...string) string {
	t.Helper()
	path, err := exec.LookPath("Rscript")
	if err != nil {
		Missing(t, "Rscript")
	}
	for _, p := range packages {
		if exec.Command(path, "-e", "library("+p+")").Run() != nil {
			Missing(t, "R package "+p)
		}
	}
	return path
}

// SciPy returns a Python interpreter that can import SciPy. Debian's own
// interpreter is tried before whatever comes first on PATH.
func SciPy(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		path, err := exec.LookPath(name)
		if err == nil && exec.Command(path, "-c", "import scipy").Run() == nil {
			return path
		}
	}
	Missing(t, "Python with SciPy")
	return ""
}

// Python returns a Python interpreter that can import the named modules.
// Debian's own interpreter is tried before whatever comes first on PATH.
func Python(t testing.TB, modules ...string) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		path, err := exec.LookPath(name)
		if err == nil && exec.Command(path, "-c", "import "+strings.Join(modules, ", ")).Run() == nil {
			return path
		}
	}
	Missing(t, "Python with "+strings.Join(modules, ", "))
	return ""
}

// Program returns the path of a program by one of its names.
func Program(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	Missing(t, names[0])
	return ""
}

// Chromium returns the path of a Chromium that tests can drive.
func Chromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	Missing(t, "Chromium")
	return ""
}
