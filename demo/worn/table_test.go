package worn

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestJudge(t *testing.T) {
	for name, c := range map[string]struct {
		read, there []string
		want        Outcome
	}{
		"nothing":                  {nil, []string{"A"}, Unread},
		"nothing of nothing":       {nil, nil, Unread},
		"it":                       {[]string{"A"}, []string{"A"}, Right},
		"another":                  {[]string{"B"}, []string{"A"}, Wrong},
		"something of nothing":     {[]string{"A"}, nil, Wrong},
		"the other one in view":    {[]string{"B"}, []string{"A", "B"}, Right},
		"both, line by line":       {[]string{"B\nA"}, []string{"A", "B"}, Right},
		"both, and one more":       {[]string{"A", "C"}, []string{"A", "B"}, Wrong},
		"line ends of another way": {[]string{"A\nB"}, []string{"A\r\nB\n"}, Right},
		"half of it":               {[]string{"A"}, []string{"A\nB"}, Wrong},
		"nothing at all, as text":  {[]string{""}, []string{"A"}, Wrong},
	} {
		if got := judge(c.read, c.there); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}

func TestTable(t *testing.T) {
	reading := func(o Outcome, ms int) Reading {
		return Reading{Outcome: o, Took: time.Duration(ms) * time.Millisecond}
	}
	table := Table{
		Readers: []Reader{{Name: "kiosk, file", Ours: true}, {Name: zxing}},
		Results: []Result{
			{Set: "rust", Severity: 1, Name: "rust-1/000", Texts: []string{"A"}, Possible: true, Readings: []Reading{reading(Right, 10), reading(Right, 20)}},
			{Set: "rust", Severity: 2, Name: "rust-2/000", Texts: []string{"A"}, Readings: []Reading{reading(Wrong, 50), reading(Unread, 40)}},
			{Set: "no tag", Severity: 1, Name: "no-tag-1/000", Readings: []Reading{reading(Unread, 5), reading(Unread, 10)}},
		},
		Start: []time.Duration{0, 4 * time.Millisecond},
		Each:  true,
	}
	var out strings.Builder
	if err := table.Write(&out); err != nil {
		t.Fatal(err)
	}
	var lines []string
	for l := range strings.Lines(out.String()) {
		lines = append(lines, strings.Join(strings.Fields(l), " "))
	}
	want := []string{
		"right/wrong/unread frames still there kiosk, file ZXingReader",
		"severity 1 1 1 1/0/0 1/0/0",
		"severity 2 1 0 0/1/0 0/0/1",
		"all 2 1 1/1/0 1/0/1",
		"rust 2 1 1/1/0 1/0/1",
		"rust 1 1 1 1/0/0 1/0/0",
		"rust 2 1 0 0/1/0 0/0/1",
		"no tag 1 0 0/0/1 0/0/1",
		"no tag 1 1 0 0/0/1 0/0/1",
		"time, 1 is ZXingReader's median, 20.0 ms",
		"median 2 0.50 1.00",
		"95 in 100 2 2.50 2.00",
		"no tag, median 1 0.25 0.50",
		"no tag, 95 in 100 1 0.25 0.50",
		"of it, being called 0.00 0.20",
	}
	if strings.Join(lines, "\n") != strings.Join(want, "\n") {
		t.Errorf("the table is\n%s\nwant\n%s", strings.Join(lines, "\n"), strings.Join(want, "\n"))
	}
	if wrong := table.WrongTexts(); len(wrong) != 1 || wrong[0].Name != "rust-2/000" {
		t.Errorf("wrong texts in %v", wrong)
	}
}

// A photograph's text may stand in another's file; a picture that is none, and a
// folder without any, are errors.
func TestPhotos(t *testing.T) {
	dir := t.TempDir()
	s := made(t, maker(t, 3), Second, 1, 0, nil)
	write := func(name, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Join(dir, "set"), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "set", name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Photos(t.Context(), dir, nil, nil, nil); err == nil {
		t.Error("no photographs, and no error")
	}
	write("1.jpg", string(s.JPEG))
	write("1.txt", "mistaken")
	write("2.txt", s.Texts[0]+"\r\n")
	write("2.also1.txt", s.Texts[1])
	told := Reader{Name: "told", Ours: true, Read: func(context.Context, Frame) ([]string, time.Duration, error) {
		return s.Texts, time.Millisecond, nil
	}}
	for _, c := range []struct {
		elsewhere map[string]string
		want      Outcome
	}{{nil, Wrong}, {map[string]string{"set/1": "set/2"}, Right}} {
		results, err := Photos(t.Context(), dir, c.elsewhere, []Reader{told}, nil)
		if err != nil || len(results) != 1 || results[0].Readings[0].Outcome != c.want {
			t.Errorf("with %v: %+v, %v", c.elsewhere, results, err)
		}
	}
	write("3.png", "no picture")
	write("3.txt", "")
	if _, err := Photos(t.Context(), dir, nil, []Reader{told}, nil); err == nil {
		t.Error("a file that is no picture is read")
	}
}
