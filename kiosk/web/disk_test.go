package web

import (
	"flag"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/required"
	"cribgate/store/storetest"
)

var updateDisk = flag.Bool("update-disk", false, "write the table of what the counter shows on a disk that fails")

// What of the crib a fault is on.
const (
	ofRegister = "register.sqlite"
	ofDesk     = "desk.sqlite"
)

// onDisk is a way in which a disk fails while a sling is handed over.
type onDisk struct {
	name  string
	files []string
	wrong []storetest.Fault
	later []storetest.Fault // when the button is pressed again; nil: nothing any more
}

const (
	syncs  = "fsync,fdatasync"
	writes = "pwrite64,ftruncate"
	reads  = "pread64"
)

func diskFaults() []onDisk {
	register, both := []string{ofRegister}, []string{ofRegister, ofDesk}
	fault := func(calls, what string) []storetest.Fault { return []storetest.Fault{{Calls: calls, What: what}} }
	all := func(what string) []storetest.Fault { return fault(syncs+","+writes, what) }
	once := func(name string, files []string, wrong []storetest.Fault) onDisk {
		return onDisk{name, files, wrong, nil}
	}
	ever := func(name string, files []string, wrong []storetest.Fault) onDisk {
		return onDisk{name, files, wrong, wrong}
	}
	return []onDisk{
		once("the disk is full, then there is room", register, fault(writes, "error=ENOSPC")),
		ever("the disk is full and stays full", register, fault(writes, "error=ENOSPC")),
		once("it gets full in the middle of the act, then there is room", register, fault(writes, "error=ENOSPC:when=4+")),
		once("the quota is used up, then there is more", register, fault(writes, "error=EDQUOT")),
		ever("the file system turns read-only", register, all("error=EROFS")),
		once("the file system is read-only for a while", register, all("error=EROFS")),
		once("a write fails once", register, fault(writes, "error=EIO:when=1")),
		ever("every write fails", register, fault(writes, "error=EIO")),
		once("the sync fails once; what was written is in the file", register, fault(syncs, "error=EIO")),
		ever("every sync fails; what was written is in the file", register, fault(syncs, "error=EIO")),
		once("the sync says that the disk is full", register, fault(syncs, "error=ENOSPC")),
		once("the sync says that the file system is read-only", register, fault(syncs, "error=EROFS")),
		{"the sync fails once, then the disk is full", register, fault(syncs, "error=EIO"), fault(writes, "error=ENOSPC")},
		{"the sync fails once, then the file system is read-only", register, fault(syncs, "error=EIO"), all("error=EROFS")},
		once("reading fails for a while", register, fault(reads, "error=EIO")),
		ever("reading fails from now on", register, fault(reads, "error=EIO")),
		ever("the disk is full for the register and the desk", both, fault(writes, "error=ENOSPC")),
		ever("the disk is full for the desk alone", []string{ofDesk}, fault(writes, "error=ENOSPC")),
		ever("every sync of the desk fails", []string{ofDesk}, fault(syncs, "error=EIO")),
		once("each sync takes five seconds", register, fault(syncs, "delay_exit=5000000")),
	}
}

// said is what a page says of an act, for a person and for the test.
type said struct {
	text string
	kind string
}

// What an answer may claim.
const (
	saidDone    = "done"
	saidNothing = "nothing was saved"
	saidUnknown = "it is not known"
	saidLook    = "look"
)

var (
	sorryPattern = regexp.MustCompile(`(?s)<h1>(.*?)</h1>.*?<p class="lead">(.*?)</p>`)
	numbered     = regexp.MustCompile(`[A-Z0-9]{4}-[A-Z0-9]{4}`)
)

// of reads a page.
func of(t *testing.T, a answer) said {
	t.Helper()
	if a.status == http.StatusOK && strings.Contains(a.plateText(), "Handed over") {
		return said{"Handed over", saidDone}
	}
	text := strings.TrimSpace(a.body) // plain where there could be no page
	if strings.HasPrefix(text, "<") {
		text = a.plateText()
	}
	if m := sorryPattern.FindStringSubmatch(a.body); m != nil {
		text = m[1] + " " + m[2]
	}
	text = numbered.ReplaceAllString(text, "…")
	switch {
	case a.status < 500:
		t.Errorf("answered %d: %.300s", a.status, a.main())
	case strings.Contains(text, "nothing was saved"):
		return said{text, saidNothing}
	case strings.Contains(text, "it is not known whether this was saved"):
		return said{text, saidUnknown}
	case strings.Contains(text, "ook"):
		return said{text, saidLook}
	}
	t.Errorf("a page that says nothing of what was done: %d %.300s", a.status, text)
	return said{text, saidLook}
}

// holds tells whether a page was right about a register in which the act is n
// times.
func (s said) holds(n int) bool {
	switch s.kind {
	case saidDone:
		return n == 1
	case saidNothing:
		return n == 0
	}
	return n <= 1
}

// TestDisk: whatever the disk does wrong, what the counter says of an act is so: what
// it says was done is in the register, what it says was not done is not, and where
// it does not know, the same button does it once. The table of it is kept.
func TestDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("-short has no disk fail")
	}
	required.Program(t, "strace")
	ready := newReadyCrib(t)
	list := diskFaults()
	rows := make([]string, len(list))
	t.Run("rows", func(t *testing.T) {
		for i, f := range list {
			t.Run(f.name, func(t *testing.T) {
				t.Parallel()
				first, lines := f.killed(t, ready)
				rows[i] = "\n" + f.name + "\n" + lines + f.again(t, ready, first)
			})
		}
	})
	table := "What the counter shows when the disk fails while a sling is handed over, and how often\n" +
		"the register has the act then. Pressed again: the same button, which sends the same key.\n" + strings.Join(rows, "")
	kept := filepath.Join("testdata", "disk.txt")
	if *updateDisk {
		if err := os.WriteFile(kept, []byte(table), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	if !t.Failed() && table != string(want) {
		t.Errorf("the table is now\n%s\nwant\n%s", table, want)
	}
}

// line is a line of the table.
func line(what string, n int, s said) string { return fmt.Sprintf("  %-30s %d  %s\n", what, n, s.text) }

// breaks has the disk of a kiosk fail.
func breaks(k *childKiosk, files []string, wrong []storetest.Fault) (mend func()) {
	k.t.Helper()
	var paths []string
	for _, f := range files {
		paths = append(paths, filepath.Join(k.dir, f), filepath.Join(k.dir, f+"-wal"))
	}
	end := storetest.Break(k.t, k.cmd.Process.Pid, paths, wrong...)
	return func() {
		k.t.Helper()
		if hits := end(); hits == 0 {
			k.t.Error("the disk was never asked for what it does wrong")
		}
	}
}

// copied makes a crib of its own of r.
func (r *readyCrib) copied(t *testing.T) (dir string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "crib")
	if err := os.CopyFS(dir, os.DirFS(r.dir)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// killed presses the button, kills the kiosk, looks, starts another, and presses
// the button again.
func (f onDisk) killed(t *testing.T, ready *readyCrib) (first said, lines string) {
	t.Helper()
	dir := ready.copied(t)
	k := ready.serves(t, dir)
	mend := breaks(k, f.files, f.wrong)
	first = of(t, k.press())
	k.kill()
	mend()
	n := k.issued()
	if !first.holds(n) {
		t.Errorf("killed after %q: %d times in the register", first.text, n)
	}
	k = ready.serves(t, dir)
	after := of(t, k.press())
	k.kill()
	m := k.issued()
	if after.kind != saidDone || m != 1 {
		t.Errorf("pressed again after the start: %q, %d times in the register", after.text, m)
	}
	return first, line("pressed", n, first) + line("killed, started, pressed again", m, after)
}

// again presses the button twice in one kiosk, and a third time after the disk was
// mended, where it was not before.
func (f onDisk) again(t *testing.T, ready *readyCrib, first said) (lines string) {
	t.Helper()
	dir := ready.copied(t)
	k := ready.serves(t, dir)
	mend := breaks(k, f.files, f.wrong)
	if shown := of(t, k.press()); shown != first {
		t.Errorf("shown %q, the time before %q", shown.text, first.text)
	}
	mend()
	what := "or pressed again"
	if f.later != nil {
		mend = breaks(k, f.files, f.later)
		second := of(t, k.press())
		now := filepath.Join(t.TempDir(), "now") // what the register would have if the kiosk died now
		if err := os.CopyFS(now, os.DirFS(dir)); err != nil {
			t.Fatal(err)
		}
		n := (&childKiosk{t: t, dir: now, ready: ready}).issued()
		if !second.holds(n) {
			t.Errorf("pressed again: %q, %d times in the register", second.text, n)
		}
		lines, what = line(what, n, second), "   mended, pressed again"
		mend()
	}
	last := of(t, k.press())
	k.kill()
	n := k.issued()
	if last.kind != saidDone || n != 1 {
		t.Errorf("%s: %q, %d times in the register", what, last.text, n)
	}
	return lines + line(what, n, last)
}

// TestDiskDeniesNothing: what was handed over is not denied where the button is pressed
// again and the disk cannot be read, with whatever error it says so: whether there was
// a press before could not be looked up.
func TestDiskDeniesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("-short has no disk fail")
	}
	required.Program(t, "strace")
	ready := newReadyCrib(t)
	for _, failure := range []string{"ENOSPC", "EROFS", "EIO"} {
		dir := ready.copied(t)
		k := ready.serves(t, dir)
		if first := of(t, k.press()); first.kind != saidDone {
			t.Fatalf("pressed: %q", first.text)
		}
		k.kill()
		k = ready.serves(t, dir) // nothing of the file is in its memory yet
		mend := breaks(k, []string{ofRegister}, []storetest.Fault{{Calls: reads, What: "error=" + failure}})
		again := of(t, k.press())
		mend()
		k.kill()
		if n := k.issued(); n != 1 || !again.holds(n) {
			t.Errorf("%s while it is read: %q, %d times in the register", failure, again.text, n)
		}
		t.Logf("%s: %s", failure, again.text)
	}
}
