package store_test

import (
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// traceCalls are the system calls that say what a program did to its files. Those
// that SQLite and Go do not make today are among them so that a trace with one of
// them is refused, and not read as if nothing had happened.
const traceCalls = "openat,open,creat,pwrite64,pwritev,pwritev2,write,writev,ftruncate,truncate,fallocate," +
	"copy_file_range,sendfile,splice,fsync,fdatasync,sync,syncfs,sync_file_range,unlink,unlinkat,rename,renameat,renameat2,link,linkat,msync"

// traceOptions have strace tell all that is written, spelled so that it can be
// read without knowing its quotes.
var traceOptions = []string{"-y", "-xx", "-s", "1000000", "-e", "trace=" + traceCalls}

// call is one system call. The lines of the trace tell what came before what:
// where programs do several things at once, a call may begin before another and
// end after it.
type call struct {
	name        string
	begun, done int // lines
	args        []string
	result      int64
}

// readTrace gives the calls in the order in which they began, and the number of
// lines. A call that never returned is done after the last line.
func readTrace(t *testing.T, file string) (calls []*call, lines int) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	type begun struct {
		line int
		text string
	}
	open := map[string]begun{} // by thread
	for line := range strings.Lines(string(text)) {
		lines++
		thread, rest, ok := strings.Cut(strings.TrimRight(line, "\n"), " ")
		rest = strings.TrimLeft(rest, " ")
		if !ok || strings.HasPrefix(rest, "+++") || strings.HasPrefix(rest, "???(") { // a thread that ended
			continue
		}
		start := lines
		part, cut := strings.CutSuffix(rest, "<unfinished ...>")
		if !cut {
			part, cut = strings.CutSuffix(rest, "<detached ...>")
		}
		if cut {
			open[thread] = begun{lines, strings.TrimRight(part, " ")}
			continue
		} else if strings.HasPrefix(rest, "<... ") {
			_, end, _ := strings.Cut(rest, "resumed>")
			end = strings.TrimPrefix(end, " <unfinished ...>") // of a thread that ended in the call
			b := open[thread]
			delete(open, thread)
			start, rest = b.line, b.text+end
		}
		c, err := readCall(rest)
		if err != nil {
			t.Fatalf("line %d of the trace: %v", lines, err)
		}
		c.begun, c.done = start, lines
		calls = append(calls, c)
	}
	for _, b := range open {
		c, err := readCall(b.text + ") = 0")
		if err != nil {
			t.Fatalf("line %d of the trace: %v", b.line, err)
		}
		c.begun, c.done = b.line, lines+1
		calls = append(calls, c)
	}
	slices.SortStableFunc(calls, func(a, b *call) int { return a.begun - b.begun })
	return calls, lines
}

// returned is what stands between the arguments of a call and its result.
var returned = regexp.MustCompile(`\) += `)

func readCall(text string) (*call, error) {
	name, rest, ok := strings.Cut(text, "(")
	end := returned.FindStringIndex(rest) // the first: quotes and paths have no such characters in them
	if !ok || end == nil {
		return nil, fmt.Errorf("not a call: %.100q … %q", text, text[max(0, len(text)-100):])
	}
	c := &call{name: name}
	result, _, _ := strings.Cut(rest[end[1]:], " ")
	result, _, _ = strings.Cut(result, "<")
	if result != "?" { // the program ended before it could be told
		n, err := strconv.ParseInt(result, 0, 64)
		if err != nil {
			return nil, fmt.Errorf("result of %s: %w", name, err)
		}
		c.result = n
	}
	for arg := range strings.SplitSeq(rest[:end[0]], ", ") {
		if strings.HasSuffix(arg, "...") {
			return nil, fmt.Errorf("%s was not told whole", name)
		}
		plain, err := readArg(arg)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		c.args = append(c.args, plain)
	}
	return c, nil
}

// readArg gives the text of a quoted argument and the path of a descriptor;
// another argument is what it is.
func readArg(arg string) (string, error) {
	if text, quoted := strings.CutPrefix(arg, `"`); quoted {
		return unhex(strings.TrimSuffix(text, `"`))
	}
	number, rest, found := strings.Cut(arg, "<")
	if !found {
		return arg, nil
	}
	path, after, _ := strings.Cut(rest, ">")
	path, err := unhex(path)
	if number == "1" {
		path = stdout
	} else if after != "" {
		path = "" // a file that has no name any more
	}
	return path, err
}

// A trace is read whatever its columns are, and whichever threads take turns in it;
// what was not told whole is refused.
func TestReadTrace(t *testing.T) {
	file := filepath.Join(t.TempDir(), "trace")
	write := func(lines ...string) {
		if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(
		`10 openat(AT_FDCWD</x>, "\x2f\x61", O_RDONLY|O_CLOEXEC)             = -1 ENOENT (No such file or directory)`,
		`10    pwrite64(3<\x2f\x61>, "\x00\x01", 2, 512 <unfinished ...>`,
		`11 fsync(4<\x2f\x62>)    = 0`,
		`10 <... pwrite64 resumed>)     = 2`,
		`11 fdatasync(4<\x2f\x62> <unfinished ...>`,
		`10 pwrite64(3<\x2f\x61>, "\x02", 1, 7 <unfinished ...>`,
		`10 +++ exited with 0 +++`,
		`11 <... fdatasync resumed> <unfinished ...>) = ?`,
	)
	calls, lines := readTrace(t, file)
	var got []string
	for _, c := range calls {
		got = append(got, fmt.Sprintf("%s %s %d %d %d", c.name, c.args[len(c.args)-1], c.result, c.begun, c.done))
	}
	want := []string{
		"openat O_RDONLY|O_CLOEXEC -1 1 1", "pwrite64 512 2 2 4", "fsync /b 0 3 3", "fdatasync /b 0 5 8", "pwrite64 7 0 6 9",
	}
	if !slices.Equal(got, want) || lines != 8 {
		t.Errorf("%d lines:\n%q, want\n%q", lines, got, want)
	}
	for _, bad := range []string{"", "fsync(3", `fsync 3 = 0`, `pwrite64(3, "\x00"..., 2, 0) = 2`, "fsync(3) = x"} {
		if c, err := readCall(bad); err == nil {
			t.Errorf("%q was read as %v", bad, c)
		}
	}
}

// stdout stands for the path of the descriptor that acknowledgements go to.
const stdout = "standard output"

func unhex(text string) (string, error) {
	if !strings.HasPrefix(text, `\x`) {
		return text, nil
	}
	plain, err := hex.DecodeString(strings.ReplaceAll(text, `\x`, ""))
	return string(plain), err
}
