package command

import (
	"flag"
	"testing"

	"cribgate/labeler/commandline/commandlinetest"
)

var updateDoc = flag.Bool("update-doc", false, "write the program's doc.go")

// TestDocIsTheHelp holds what "go doc" shows of the program to its help.
func TestDocIsTheHelp(t *testing.T) { commandlinetest.Doc(t, newRoot(), *updateDoc) }
