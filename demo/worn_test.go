package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/demo/worn"
)

func TestWornRefuses(t *testing.T) {
	for name, args := range map[string][]string{
		"no scenes":       {"worn", "--scenes", "0"},
		"a severity more": {"worn", "--severity", "6"},
		"half a truth":    {"worn", "--photos", "x", "--truth", "set/1"},
		"a truth of none": {"worn", "--truth", "set/1=set/2"},
		"a word too many": {"worn", "scenes"},
		"few live tags":   {"worn", "--live", "3"},
	} {
		if code, _, errOut := tries(t, args...); code != 2 || errOut == "" {
			t.Errorf("%s: %d %s", name, code, errOut)
		}
	}
	if code, _, errOut := tries(t, "worn", "--live", "50", "--photos", t.TempDir()); code != 1 || errOut == "" {
		t.Errorf("no photographs: %d %s", code, errOut)
	}
}

// Pictures of one's own are read and counted; a text that is not in the picture is
// told, and is a failure.
func TestWornTellsWrongTexts(t *testing.T) {
	m, err := worn.NewMaker(1)
	if err != nil {
		t.Fatal(err)
	}
	s, err := m.Make(worn.Rust, 1, 0)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	write := func(name string, data []byte) {
		t.Helper()
		if err := os.MkdirAll(filepath.Join(dir, "rack"), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "rack", name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("7.jpg", s.JPEG)
	for text, want := range map[string]int{s.Texts[0]: 0, "ANOTHER": 1} {
		write("7.txt", []byte(text))
		code, out, errOut := tries(t, "worn", "--live", fmt.Sprint(worn.Shown), "--photos", dir)
		if code != want || !strings.Contains(out, "right/wrong/unread") || strings.ContainsAny(out+errOut, "\r\x1b") {
			t.Errorf("saying %q: %d\n%s\n%s", text, code, out, errOut)
		}
		if told := strings.Contains(out, "wrong: rack/7 says"); told != (want == 1) {
			t.Errorf("saying %q: told %t\n%s", text, told, out)
		}
	}
}
