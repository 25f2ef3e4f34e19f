package web

import (
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"cribgate/store/storetest"
)

// onDiskAt makes a crib of its own of r in dir, which is on a disk of its own.
func (r *readyCrib) onDiskAt(t *testing.T, dir string) string {
	t.Helper()
	dir = filepath.Join(dir, "crib")
	if err := os.CopyFS(dir, os.DirFS(r.dir)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// elsewhere is how often the sling would be handed over if the kiosk in dir died now.
func (r *readyCrib) elsewhere(t *testing.T, dir string) int {
	t.Helper()
	now := filepath.Join(t.TempDir(), "now")
	if err := os.CopyFS(now, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return (&childKiosk{t: t, dir: now, ready: r}).issued()
}

// looks tells whether pages that only look are shown.
func (k *childKiosk) looks() {
	k.t.Helper()
	for _, path := range []string{"/counter", "/rack", "/rack/NS-0417", "/outside", "/tags", "/people"} {
		if page := k.client.follow(k.client.get(path)); page.status != http.StatusOK {
			k.t.Errorf("looking at %s: %d %.300s", path, page.status, page.body)
		}
	}
}

// TestKioskOnFullDisk: a kiosk whose disk is full says so, shows what there is,
// records nothing by half, and goes on when there is room, without a new start.
func TestKioskOnFullDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("-short has no disk fail")
	}
	disk := storetest.SmallDisk(t, 8<<10)
	ready := newReadyCrib(t)
	dir := ready.onDiskAt(t, disk)
	k := ready.serves(t, dir)
	for _, free := range []int64{0, 4 << 10, 12 << 10} {
		room := storetest.FillDisk(t, disk, free)
		shown := of(t, k.press())
		if n := ready.elsewhere(t, dir); shown.kind != saidNothing || n != 0 {
			t.Errorf("%d bytes free: %q, %d times in the register", free, shown.text, n)
		}
		k.looks()
		room()
	}
	if shown := of(t, k.press()); shown.kind != saidDone {
		t.Errorf("once there is room: %q", shown.text)
	}
	k.looks()
	k.kill()
	if n := k.issued(); n != 1 {
		t.Errorf("%d times in the register", n)
	}
}

// TestKioskOnFailedDisk: a kiosk whose file system gives up under it says so, shows
// what there is, and after a start on a disk that works the same button does the
// act once.
func TestKioskOnFailedDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("-short has no disk fail")
	}
	disk := storetest.NewBreakingDisk(t, 32)
	ready := newReadyCrib(t)
	dir := ready.onDiskAt(t, disk.Dir)
	disk.Lasts()
	k := ready.serves(t, dir)
	disk.Fails()
	shown := of(t, k.press())
	if n := ready.elsewhere(t, dir); !shown.holds(n) || shown.kind == saidDone {
		t.Errorf("%q, %d times in the register", shown.text, n)
	}
	k.looks()
	again := of(t, k.press())
	if again.kind == saidDone {
		t.Errorf("pressed again: %q", again.text)
	}
	k.kill()
	disk.Replaced()
	k = ready.serves(t, dir)
	after := of(t, k.press())
	k.kill()
	if n := k.issued(); after.kind != saidDone || n != 1 {
		t.Errorf("after the start: %q, %d times in the register", after.text, n)
	}
	t.Logf("pressed: %q; again: %q", shown.text, again.text)
}
