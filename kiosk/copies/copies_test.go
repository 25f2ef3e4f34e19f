package copies

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"cribgate/store"
	"cribgate/store/storetest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// bench is a register, a clock that the test sets, and a disk that the test
// fills.
type bench struct {
	*Keeper
	t     *testing.T
	st    *store.Store
	dir   string // of the copies
	path  string
	log   bytes.Buffer
	waits chan time.Duration
	again chan time.Time

	mu   sync.Mutex
	off  time.Duration // how far the test's clock is ahead of the machine's
	room map[string]Room
	n    int
}

func newBench(t *testing.T, change func(*Settings)) *bench {
	t.Helper()
	b := &bench{t: t, room: map[string]Room{}, waits: make(chan time.Duration), again: make(chan time.Time)}
	b.st, _, b.path = storetest.New(t, store.Options{Program: "test", Now: b.clock})
	b.dir = t.TempDir()
	s := Settings{Dir: b.dir, Every: time.Hour, Keep: store.Keep{Newest: 2, Days: 3}}
	if change != nil {
		change(&s)
	}
	b.room[filepath.Dir(b.path)], b.room[b.dir] = Room{Free: 1 << 40, Disk: 1}, Room{Free: 1 << 40, Disk: 2}
	b.Keeper = New(b.st, b.path, s, Options{
		Now: b.clock, Log: slog.New(slog.NewTextHandler(&b.log, nil)),
		After: func(d time.Duration) <-chan time.Time { b.waits <- d; return b.again },
		Room: func(dir string) (Room, error) {
			b.mu.Lock()
			defer b.mu.Unlock()
			r, ok := b.room[dir]
			if !ok {
				return Room{}, fs.ErrNotExist
			}
			return r, nil
		},
	})
	return b
}

func (b *bench) clock() time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return time.Now().Add(b.off)
}

// wait lets time pass on the clock.
func (b *bench) wait(d time.Duration) {
	b.mu.Lock()
	b.off += d
	b.mu.Unlock()
}

// pass lets time pass on the disk: the copies become older by as much.
func (b *bench) pass(d time.Duration) {
	b.t.Helper()
	list, err := store.Copies(b.dir, "")
	if err != nil {
		b.t.Fatal(err)
	}
	for _, c := range list {
		if err := os.Chtimes(c.Path, time.Time{}, c.Made.Add(-d)); err != nil {
			b.t.Fatal(err)
		}
	}
}

func (b *bench) record() {
	b.n++
	storetest.Register(b.t, b.st, b.n)
}

func (b *bench) warnings() string { return strings.Join(b.State().Warnings(b.clock(), false), "\n") }

// Copies are made at once and then by the hour, old ones go, and nothing waits for
// longer than it has to.
func TestRun(t *testing.T) {
	b := newBench(t, nil)
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() { defer close(ended); b.Run(ctx) }()
	for hour := range 5 {
		if wait := <-b.waits; wait <= 0 || wait > lookEvery {
			t.Errorf("hour %d: waits %v", hour, wait)
		}
		newest, ok := b.State().Newest(b.clock())
		head, err := b.st.Head(t.Context())
		if err != nil || !ok || newest.At != head.At || b.State().Failed != nil {
			t.Fatalf("hour %d: %+v of a register up to %d, %v, %v", hour, newest, head.At, b.State().Failed, err)
		}
		if w := b.warnings(); w != "" {
			t.Errorf("hour %d: %s", hour, w)
		}
		b.record()
		b.pass(59 * time.Minute) // not yet
		b.again <- time.Time{}
		<-b.waits
		if same, _ := b.State().Newest(b.clock()); same.At != newest.At {
			t.Errorf("hour %d: a copy after 59 minutes", hour)
		}
		b.pass(time.Minute)
		b.again <- time.Time{}
	}
	<-b.waits
	end()
	<-ended
	if n := len(b.State().Copies); n < 2 || n > 5 {
		t.Errorf("%d copies are kept, of 2 newest and 3 days", n)
	}
	if !strings.Contains(b.log.String(), "a copy of the register was made") || !strings.Contains(b.log.String(), "an old copy was taken away") {
		t.Errorf("the log:\n%s", &b.log)
	}
}

// A copy that cannot be made is told when the last good one is three hours old,
// with the reason, and made as soon as it can be.
func TestFails(t *testing.T) {
	b := newBench(t, nil)
	if wait := b.Once(t.Context()); wait > lookEvery || b.warnings() != "" {
		t.Fatalf("waits %v: %s", wait, b.warnings())
	}
	b.wait(2*time.Hour + 59*time.Minute)
	away := b.dir + "-away"
	if err := os.Rename(b.dir, away); err != nil {
		t.Fatal(err)
	}
	if wait := b.Once(t.Context()); wait != lookEvery || !errors.Is(b.State().Failed, fs.ErrNotExist) {
		t.Errorf("waits %v, %v", wait, b.State().Failed)
	}
	if _, err := os.Stat(b.dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the directory was made: %v", err)
	}
	if w := b.warnings(); w != "" {
		t.Errorf("after less than three hours: %s", w)
	}
	b.wait(2 * time.Minute)
	if w := b.warnings(); !strings.Contains(w, "is 3 hours old, and none could be made since: "+b.dir+" is not there") {
		t.Errorf("after three hours: %q", w)
	}
	if err := os.Rename(away, b.dir); err != nil {
		t.Fatal(err)
	}
	b.record()
	b.Once(t.Context())
	b.wait(-3*time.Hour - time.Minute) // the disk's clock went on as before
	newest, _ := b.State().Newest(b.clock())
	head, err := b.st.Head(t.Context())
	if err != nil || newest.At != head.At || b.warnings() != "" || b.State().Failed != nil {
		t.Errorf("%+v of a register up to %d: %s, %v, %v", newest, head.At, b.warnings(), b.State().Failed, err)
	}
}

// Where there never was a copy, that is said as soon as the first try has failed.
func TestNoneEver(t *testing.T) {
	b := newBench(t, func(s *Settings) { s.Dir += "-none" })
	if w := b.warnings(); w != "" {
		t.Errorf("before the first try: %s", w)
	}
	b.Once(t.Context())
	if w := b.warnings(); !strings.Contains(w, "There is no copy of the register, and none could be made") {
		t.Errorf("%q", w)
	}
}

// Without a directory a keeper is told that there are no copies, and nobody else.
func TestNone(t *testing.T) {
	b := newBench(t, func(s *Settings) { *s = Settings{} })
	if wait := b.Once(t.Context()); wait != lookEvery {
		t.Errorf("waits %v", wait)
	}
	if w := b.warnings(); w != "" {
		t.Errorf("%s", w)
	}
	if list := b.State().Warnings(b.clock(), true); len(list) != 1 || !strings.Contains(list[0], "No copies of the register are made") {
		t.Errorf("%q", list)
	}
}

// A register that does not hold is not copied, and that is said at once.
func TestDamaged(t *testing.T) {
	s := State{Settings: Settings{Dir: "d", Every: time.Hour}, Tried: true, Failed: store.ErrDamaged, Copies: []store.CopyFile{{Made: time.Unix(1000, 0)}}}
	if list := s.Warnings(time.Unix(1001, 0), false); len(list) != 1 || !strings.Contains(list[0], "the register does not hold") {
		t.Errorf("%q", list)
	}
}

// A copy of a day that has not come yet does not stand for a new one.
func TestCopyOfTomorrow(t *testing.T) {
	b := newBench(t, nil)
	b.Once(t.Context())
	b.record()
	b.pass(-24 * time.Hour)
	b.Once(t.Context())
	head, err := b.st.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	made := false
	for _, c := range b.State().Copies {
		made = made || c.At == head.At
	}
	if !made {
		t.Errorf("%+v: nothing was copied", b.State().Copies)
	}
	if !strings.Contains(b.warnings(), "a clock is or was wrong") {
		t.Errorf("%q", b.warnings())
	}
	if wait := b.Once(t.Context()); wait < 9*time.Minute || len(b.State().Copies) != 2 {
		t.Errorf("waits %v for the next: %+v", wait, b.State().Copies)
	}
}

// Which room is enough, on both sides of each limit.
func TestRoom(t *testing.T) {
	const mb = 1_000_000
	for name, c := range map[string]struct {
		disk Disk
		days int
		want string
	}{
		"enough":               {Disk{Free: 1400 * mb, PerDay: 100 * mb}, 14, ""},
		"for 13 days":          {Disk{Free: 1399 * mb, PerDay: 100 * mb}, 13, "full in about 13 days: 1399 MB are free on the disk of the register, and 100 MB are added a day"},
		"for a day":            {Disk{Free: 199 * mb, PerDay: 100 * mb}, 1, "about a day"},
		"for hours":            {Disk{Free: 199 * mb, PerDay: 200 * mb}, 0, "less than a day"},
		"nothing is added":     {Disk{Free: LeastFree}, noForecast, ""},
		"a byte under":         {Disk{Free: LeastFree - 1}, noForecast, "nearly full"},
		"copies are to come":   {Disk{Free: 2400 * mb, PerDay: 100 * mb, ToCome: 1000 * mb}, 14, ""},
		"and leave 13 days":    {Disk{Free: 2399 * mb, PerDay: 100 * mb, ToCome: 1000 * mb}, 13, "about 13 days"},
		"and do not fit":       {Disk{Free: 1000 * mb, PerDay: mb, ToCome: 1000 * mb}, 0, "need 1000 MB more"},
		"and just do":          {Disk{Free: 1000*mb + 14, PerDay: 1, ToCome: 1000 * mb}, 14, ""},
		"nothing of the kind":  {Disk{Free: 1 << 60, PerDay: 1}, noForecast, ""},
		"full":                 {Disk{}, 0, "nearly full"},
		"more than fits a day": {Disk{Free: 500 * mb, PerDay: 1 << 60}, 0, "less than a day"},
	} {
		c.disk.Holds = "register"
		if got := c.disk.Days(); got != c.days {
			t.Errorf("%s: %d days, want %d", name, got, c.days)
		}
		if got := c.disk.warning(); (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// The forecast counts both disks, and one that holds both.
func TestForecast(t *testing.T) {
	b := newBench(t, nil)
	for range 20 {
		b.record()
	}
	b.Once(t.Context())
	disks := b.State().Disks
	if len(disks) != 2 || disks[0].Holds != "register" || disks[1].Holds != "copies" || b.State().SameDisk {
		t.Fatalf("%+v", disks)
	}
	perDay, size := disks[0].PerDay, b.State().Copies[0].Bytes
	if perDay <= 0 || disks[1].PerDay != 5*perDay || disks[0].ToCome != 0 || disks[1].ToCome < 4*size || disks[1].ToCome > 6*size {
		t.Errorf("%+v with copies of %d bytes", disks, size)
	}
	b.room[filepath.Dir(b.path)] = Room{Free: LeastFree + 13*perDay, Disk: 1}
	b.Once(t.Context())
	if days := b.State().Disks[0].Days(); days < 13 || b.warnings() != "" && days >= WarnDays {
		t.Errorf("%d days: %s", days, b.warnings())
	}
	b.room[b.dir] = Room{Free: 1 << 40, Disk: 1}
	b.Once(t.Context())
	if d := b.State().Disks; len(d) != 1 || d[0].Holds != "register and copies" || d[0].PerDay != 6*perDay || !b.State().SameDisk {
		t.Errorf("%+v", d)
	}
	if list := b.State().Warnings(b.clock(), true); !strings.Contains(strings.Join(list, "\n"), "lie on the disk that the register is on") {
		t.Errorf("%q", list)
	}
}

// The room of a real disk is told, and one disk is itself.
func TestRoomOf(t *testing.T) {
	here, err := RoomOf(t.TempDir())
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip("SKIPPED, NOTHING PROVEN: this system does not tell")
	}
	if err != nil || here.Free <= 0 {
		t.Errorf("%+v, %v", here, err)
	}
	again, err := RoomOf(t.TempDir())
	if err != nil || again.Disk != here.Disk {
		t.Errorf("%+v and %+v, %v", here, again, err)
	}
	if _, err := RoomOf(filepath.Join(t.TempDir(), "none")); err == nil {
		t.Error("there is room in nothing")
	}
}

func TestSettings(t *testing.T) {
	good := Defaults()
	good.Dir = "d"
	for name, c := range map[string]struct {
		change func(*Settings)
		ok     bool
	}{
		"the defaults":   {func(*Settings) {}, true},
		"none":           {func(s *Settings) { *s = Settings{} }, true},
		"every minute":   {func(s *Settings) { s.Every = time.Minute }, true},
		"every second":   {func(s *Settings) { s.Every = time.Second }, false},
		"never":          {func(s *Settings) { s.Every = 0 }, false},
		"one":            {func(s *Settings) { s.Keep = store.Keep{Newest: 1} }, true},
		"none is kept":   {func(s *Settings) { s.Keep = store.Keep{Days: 3} }, false},
		"days below one": {func(s *Settings) { s.Keep.Days = -1 }, false},
	} {
		s := good
		c.change(&s)
		if err := s.Check(); (err == nil) != c.ok || err != nil && !errors.Is(err, ErrSettings) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
