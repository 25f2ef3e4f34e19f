// Package commandlinetest holds what a program says of itself in "go doc" to what
// its help says. Nothing here is linked into a program.
package commandlinetest

import (
	"os"
	"testing"

	"github.com/spf13/cobra"

	"cribgate/labeler/commandline"
)

// docFile is where the program of a command package beside it has its comment.
const docFile = "../doc.go"

// Doc fails where the program's doc.go is not its help, and writes it first where
// the flag -update-doc of the test says so.
func Doc(t testing.TB, root *cobra.Command, update bool) {
	t.Helper()
	want, err := commandline.Doc(root)
	if err != nil {
		t.Fatal(err)
	}
	if update {
		if err := os.WriteFile(docFile, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(docFile)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("%s is not what the help says: go test ./%s/command -run Doc -update-doc", docFile, root.Name())
	}
}
