// Package required says what becomes of a test that lacks something of the machine
// it runs on: a program that reads what we write, the right to mount, a browser.
//
//	strace := required.Program(t, "strace")
//
// On a machine of somebody who works on something else the test is skipped, and
// says that nothing was proven. Where CRIBGATE_REQUIRE is set, as in the gate, it
// fails: what is skipped there would be skipped for good. Nothing here is linked
// into a program.
package required

import (
	"os"
	"os/exec"
)

// Everything is the variable of the environment that makes a failure of every skip.
const Everything = "CRIBGATE_REQUIRE"

// TB is what a test has of testing.TB.
type TB interface {
	Helper()
	Fatalf(format string, args ...any)
	Skipf(format string, args ...any)
}

// Program gives the path of a program, and ends the test where there is none.
func Program(t TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Lacks(t, "%s is not installed", name)
	}
	return path
}

// Lacks ends the test, which cannot go on for that reason.
func Lacks(t TB, format string, args ...any) {
	t.Helper()
	if os.Getenv(Everything) != "" {
		t.Fatalf(Everything+" is set, and "+format, args...)
	}
	t.Skipf("SKIPPED, NOTHING PROVEN: "+format, args...)
}
