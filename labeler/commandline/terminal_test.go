package commandline

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"testing"
)

// Nothing but a terminal is told what goes on.
func TestTerminal(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for _, w := range []io.Writer{&bytes.Buffer{}, file} {
		if Terminal(w) != io.Discard {
			t.Errorf("%T is told", w)
		}
	}
	device, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0) // a terminal is told from a file as a device is
	if err != nil {
		t.Fatal(err)
	}
	defer device.Close()
	if Terminal(device) != device {
		t.Error("a device is not told")
	}
}
