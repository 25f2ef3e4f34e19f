package command

import (
	"flag"
	"os"
	"testing"

	"cribgate/labeler/commandline"
)

var updateDoc = flag.Bool("update-doc", false, "write the program's doc.go")

// TestDocIsTheHelp holds what "go doc" shows of the program to its help.
func TestDocIsTheHelp(t *testing.T) {
	const file = "../doc.go"
	want, err := commandline.Doc(newRoot())
	if err != nil {
		t.Fatal(err)
	}
	if *updateDoc {
		if err := os.WriteFile(file, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("%s is not what the help says: go test ./labeler/command -run Doc -update-doc", file)
	}
}
