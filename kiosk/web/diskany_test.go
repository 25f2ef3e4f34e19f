package web

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"cribgate/core/required"
	"cribgate/store/storetest"
)

var (
	diskRounds = flag.Int("disk-rounds", 6, "rounds of the test in which any call to the disk fails")
	diskSeed   = flag.Uint64("disk-seed", uint64(time.Now().UnixNano()), "seed of that test")
)

// TestDiskAnyCall: the same where it is any one call that fails, in any way.
func TestDiskAnyCall(t *testing.T) {
	if testing.Short() {
		t.Skip("-short has no disk fail")
	}
	required.Program(t, "strace")
	seed := *diskSeed
	r := rand.New(rand.NewPCG(seed, 1))
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again: go test ./kiosk/web -run TestDiskAnyCall -disk-seed %d -disk-rounds %d", seed, *diskRounds)
		}
	})
	ready := newReadyCrib(t)
	kinds := map[string]int{}
	for range *diskRounds {
		calls := []string{syncs, writes, reads, syncs + "," + writes + "," + reads}[r.IntN(4)]
		failure := []string{"EIO", "ENOSPC", "EROFS", "EDQUOT", "EINVAL", "EBADF"}[r.IntN(6)]
		when := fmt.Sprint(1 + r.IntN(12))
		if r.IntN(2) == 0 {
			when += "+" // and from then on
		}
		files := [][]string{{ofRegister}, {ofRegister}, {ofDesk}, {ofRegister, ofDesk}}[r.IntN(4)]
		wrong := []storetest.Fault{{Calls: calls, What: "error=" + failure + ":when=" + when}}
		dir := ready.copied(t)
		k := ready.serves(t, dir)
		var paths []string
		for _, f := range files {
			paths = append(paths, filepath.Join(dir, f), filepath.Join(dir, f+"-wal"), filepath.Join(dir, f+"-shm"))
		}
		mend := storetest.Break(t, k.cmd.Process.Pid, paths, wrong...)
		var last said
		for press := range 2 {
			last = of(t, k.press())
			kinds[last.kind]++
			now := filepath.Join(t.TempDir(), "now")
			if err := os.CopyFS(now, os.DirFS(dir)); err != nil {
				t.Fatal(err)
			}
			if n := (&childKiosk{t: t, dir: now, ready: ready}).issued(); !last.holds(n) {
				t.Errorf("%v of %v, press %d: %q, %d times in the register", wrong, files, press+1, last.text, n)
			}
		}
		mend()
		last = of(t, k.press())
		k.kill()
		if n := k.issued(); last.kind != saidDone || n != 1 {
			t.Errorf("%v of %v, mended: %q, %d times in the register", wrong, files, last.text, n)
		}
	}
	t.Logf("%d rounds: shown %v", *diskRounds, kinds)
}

// TestSlowSync: where a sync takes five seconds, the counter waits for it; whoever
// presses again meanwhile gets the same answer, the sling goes out once, and pages
// that only look do not wait.
func TestSlowSync(t *testing.T) {
	if testing.Short() {
		t.Skip("-short has no disk fail")
	}
	required.Program(t, "strace")
	ready := newReadyCrib(t)
	k := ready.serves(t, ready.copied(t))
	mend := breaks(k, []string{ofRegister}, []storetest.Fault{{Calls: syncs, What: "delay_exit=5000000"}})
	begin := time.Now()
	var all sync.WaitGroup
	var took [3]time.Duration
	var shown [3]said
	for i := range took {
		all.Go(func() {
			shown[i] = of(t, k.press())
			took[i] = time.Since(begin)
		})
	}
	looks := 0
	waited := make(chan struct{})
	go func() { all.Wait(); close(waited) }()
	for going := true; going; {
		if page := k.client.get("/outside"); page.status != http.StatusOK {
			t.Fatalf("looking meanwhile: %d", page.status)
		}
		looks++
		select {
		case <-waited:
			going = false
		default:
		}
	}
	mend()
	for i, s := range shown {
		if s.kind != saidDone || took[i] < 5*time.Second {
			t.Errorf("press %d: %q after %s", i+1, s.text, took[i])
		}
	}
	if looks < 3 {
		t.Errorf("%d pages were looked at in %s", looks, time.Since(begin))
	}
	k.kill()
	if n := k.issued(); n != 1 {
		t.Errorf("%d times in the register", n)
	}
	t.Logf("pressed three times, answered after %s; %d pages looked at meanwhile", took, looks)
}
