package command

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A register is held against sheets and copies of its own past, of its future,
// and of another register's.
func TestVerifyAgainst(t *testing.T) {
	dir := t.TempDir()
	run := func(args ...string) (code int, out, errOut string) {
		var o, e bytes.Buffer
		code = Run(t.Context(), args, nil, &o, &e)
		return code, o.String(), e.String()
	}
	done := func(args ...string) string {
		t.Helper()
		code, out, errOut := run(args...)
		if code != 0 {
			t.Fatalf("kiosk %q: %d: %s%s", args, code, out, errOut)
		}
		return out
	}
	head := func(out string) (short, full, symbol string) {
		t.Helper()
		m := regexp.MustCompile(`(?m)^head +([0-9]+) ([0-9a-f]{64})\n(?:.*\n)*?symbol +([A-Z2-7]{64})$`).FindStringSubmatch(out)
		if m == nil {
			t.Fatalf("no head in %s", out)
		}
		return m[1] + " " + m[2][:8], m[1] + " " + m[2], m[3]
	}
	file := func(from, to string) string {
		t.Helper()
		text, err := os.ReadFile(filepath.Join(dir, from, "register.sqlite"))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, to)
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	crib, other := filepath.Join(dir, "crib"), filepath.Join(dir, "other")
	for _, d := range []string{crib, other} {
		done("init", "--register", d, "--name", "North Sluice crib", "--keeper", "K. Dorn")
	}
	short, full, symbol := head(done("verify", "--register", crib))
	_, _, foreign := head(done("verify", "--register", other))
	older, stranger := file("crib", "older.sqlite"), file("other", "stranger.sqlite")
	done("pin", "--register", crib, "--name", "K. Dorn")
	_, _, later := head(done("verify", "--register", crib))
	newer := file("crib", "newer.sqlite")
	text := filepath.Join(dir, "text")
	if err := os.WriteFile(text, []byte("a text"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "past"), 0o700); err != nil {
		t.Fatal(err)
	}
	past := filepath.Join(dir, "past", "register.sqlite")
	if err := os.Rename(file("crib", "again.sqlite"), past); err != nil {
		t.Fatal(err)
	}
	done("pin", "--register", crib, "--name", "K. Dorn")
	for name, c := range map[string]struct {
		register, against string
		code              int
		out, errOut       string
	}{
		"a sheet":                 {crib, short, 0, "against   holds: position 4 is as on the paper", ""},
		"with all its digits":     {crib, full, 0, "holds: position 4", ""},
		"typed with gaps":         {crib, strings.ToUpper(full[:6]) + " " + full[6:], 0, "holds: position 4", ""},
		"its symbol":              {crib, symbol, 0, "holds: position 4", ""},
		"a later sheet":           {crib, later, 0, "holds: position 5", ""},
		"another register's":      {crib, foreign, 1, "against   was rewritten at or before 4, or the paper is another register's", "hint: keep file"},
		"one digit wrong":         {crib, flip(short), 1, "rewritten", "does not hold what it was held against"},
		"a sheet of the future":   {past, "6 " + full[2:], 1, "ends at 5, before position 6", ""},
		"an older copy":           {crib, older, 0, "against   holds: positions 1 to 4 are as in the copy", ""},
		"a newer copy":            {past, newer, 0, "positions 1 to 5", ""},
		"a copy that goes on":     {crib, newer, 0, "positions 1 to 5", ""},
		"another register's copy": {crib, stranger, 1, "parts from the copy at 1; different: 1 to 4", ""},
		"no copy":                 {crib, filepath.Join(dir, "none"), 1, "", "hint: name a copy"},
		"no register":             {crib, text, 1, "", "hint: name a copy"},
		"a position alone":        {crib, "4", 1, "", `--against "17 3f2a9c01"`},
	} {
		t.Run(name, func(t *testing.T) {
			code, out, errOut := run("verify", "--register", c.register, "--against", c.against)
			if code != c.code || !strings.Contains(out, c.out) || !strings.Contains(errOut, c.errOut) {
				t.Errorf("%d: %s%s\nwant %d, %q, %q", code, out, errOut, c.code, c.out, c.errOut)
			}
		})
	}
	// The register that ends before the copy: the file of the past against that of today.
	code, out, _ := run("verify", "--register", past, "--against", file("crib", "today.sqlite"))
	if code != 1 || !strings.Contains(out, "against   ends at 5, the copy at 6: what came between is not here") || !strings.Contains(out, "register  holds: 5 events") {
		t.Errorf("%d: %s", code, out)
	}
}

// flip changes the last digit.
func flip(head string) string {
	last := "0"
	if strings.HasSuffix(head, "0") {
		last = "1"
	}
	return head[:len(head)-1] + last
}
