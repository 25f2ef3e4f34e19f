package commandline

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestProgress(t *testing.T) {
	var out bytes.Buffer
	at := time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)
	p := &Progress{w: &out, what: "print", now: func() time.Time { return at }}
	for _, c := range []struct {
		after       time.Duration
		done, total int64
		want        string
	}{
		{0, 0, 0, ""},
		{0, 10, 1000, "\rprint: 10 of 1000 (1 %)"},
		{99 * time.Millisecond, 20, 1000, ""},
		{time.Millisecond, 30, 1000, "\rprint: 30 of 1000 (3 %)"},
		// 200 in 2 s since it was shown first; 790 are left.
		{1900 * time.Millisecond, 210, 1000, "\rprint: 210 of 1000 (21 %), 100 a second, 8s left"},
		{8 * time.Second, 1000, 1000, "\rprint: 1000 of 1000 (100 %), 99 a second        "},
	} {
		at = at.Add(c.after)
		p.Show(c.done, c.total)
		if got := out.String(); got != c.want {
			t.Errorf("%d of %d: %q, want %q", c.done, c.total, got, c.want)
		}
		out.Reset()
	}
	p.End()
	if got, want := out.String(), "\r"+strings.Repeat(" ", len("print: 1000 of 1000 (100 %), 99 a second"))+"\r"; got != want {
		t.Errorf("at the end %q, want %q", got, want)
	}
	out.Reset()
	p.End()
	if out.Len() > 0 {
		t.Errorf("ended twice: %q", out.String())
	}
}

// A file and a buffer are no terminals.
func TestProgressIsQuiet(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var buf bytes.Buffer
	for _, p := range []*Progress{NewProgress(file, "print"), NewProgress(&buf, "print"), {}} {
		p.Show(1, 2)
		p.End()
	}
	if info, err := file.Stat(); err != nil || info.Size() > 0 || buf.Len() > 0 {
		t.Errorf("a file has %v, %v; a buffer %q", info, err, buf.String())
	}
}
