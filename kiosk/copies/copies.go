// Package copies keeps copies of the register in a directory while the kiosk
// serves it, and watches the room on the disks.
//
// [Keeper.Run] makes a copy when the newest one is as old as [Settings] say, takes
// away those that are not to be kept, and looks at the room on the disks of
// register and copies. [Keeper.State] tells what is known; [State.Warnings] puts
// into sentences what somebody has to do something about, days before it stops
// the counter.
//
// A copy counts as good once it was opened and walked to its end ([store.Store.Copy]).
// The keeper never makes the directory of the copies: a disk that is not plugged
// in must not turn into a directory on the one that the register is on.
package copies

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"cribgate/kiosk/chore"
	"cribgate/store"
	"cribgate/store/photos"
)

// Settings say where copies go and which are kept. The zero Settings make none.
type Settings struct {
	Dir   string        // empty: no copies are made
	Every time.Duration // how old the newest copy becomes before the next is made
	Keep  store.Keep
}

// Defaults are site policy of this program, no source: an hour's work can be
// told again by the people who did it, and a mistake is found within a month.
func Defaults() Settings {
	return Settings{Every: time.Hour, Keep: store.Keep{Newest: 24, Days: 30}}
}

// ErrSettings reports settings that make no sense; the text says which.
var ErrSettings = errors.New("copies: these settings make no sense")

// Check is ErrSettings where the settings cannot be followed, and says why.
func (s Settings) Check() error {
	switch {
	case s.Dir == "":
		return nil
	case s.Every < time.Minute:
		return fmt.Errorf("%w: a copy every %v is more than one a minute", ErrSettings, s.Every)
	case s.Keep.Newest < 1 || s.Keep.Days < 0:
		return fmt.Errorf("%w: %d newest copies, and one a day for %d days", ErrSettings, s.Keep.Newest, s.Keep.Days)
	}
	return nil
}

// most is how many copies there are at the most.
func (s Settings) most() int64 { return int64(s.Keep.Newest + s.Keep.Days) }

// Options are what tests set. The zero Options are the machine's own.
type Options struct {
	Now   func() time.Time
	After func(time.Duration) <-chan time.Time
	Room  func(dir string) (Room, error)
	Log   *slog.Logger
}

// Keeper keeps the copies of one register. It may be used by many goroutines;
// Run by one.
type Keeper struct {
	store    *store.Store
	register string // its directory
	settings Settings
	o        Options

	told time.Time // when the log was last told of what is wrong; zero where nothing is

	mu    sync.Mutex
	state State
}

// New gives a keeper for the register whose file is at path. The settings have
// been checked.
func New(s *store.Store, path string, settings Settings, o Options) *Keeper {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.After == nil {
		o.After = time.After
	}
	if o.Room == nil {
		o.Room = RoomOf
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	k := &Keeper{store: s, register: filepath.Dir(path), settings: settings, o: o}
	k.state = State{Settings: settings}
	return k
}

// lookEvery is how often the room on the disks is looked at, and a copy that
// could not be made is tried again; tellEvery how often the log is told of what
// has not changed.
const (
	lookEvery = 10 * time.Minute
	tellEvery = 12 * time.Hour
)

// Run makes copies and looks at the disks until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	chore.Run(ctx, k.o.After, k.Once)
}

// Once makes a copy if it is time for one, looks at the disks, and gives how long
// to wait until the next time.
func (k *Keeper) Once(ctx context.Context) time.Duration {
	var err error
	if k.settings.Dir != "" {
		err = k.copyIfDue(ctx)
	}
	if ctx.Err() != nil {
		return lookEvery
	}
	k.mu.Lock()
	k.state.Failed, k.state.Tried = err, true
	k.mu.Unlock()
	if err != nil {
		k.o.Log.ErrorContext(ctx, "no copy of the register was made", "dir", k.settings.Dir, "err", err)
	}
	if err := k.look(ctx); err != nil {
		k.o.Log.WarnContext(ctx, "look at the room on the disks", "err", err)
	}
	k.tell(ctx)
	if err != nil || k.settings.Dir == "" {
		return lookEvery
	}
	return min(lookEvery, max(time.Second, k.settings.Every-k.State().age(k.o.Now())))
}

// tell says in the log what the pages say to a keeper.
func (k *Keeper) tell(ctx context.Context) {
	now := k.o.Now()
	list := k.State().Warnings(now, true)
	if len(list) == 0 {
		k.told = time.Time{}
		return
	}
	if now.Sub(k.told) < tellEvery {
		return
	}
	k.told = now
	for _, w := range list {
		k.o.Log.WarnContext(ctx, "copies and disks", "warning", w)
	}
}

// copyIfDue makes a copy where the newest one is old enough, and takes old ones
// away.
func (k *Keeper) copyIfDue(ctx context.Context) error {
	if info, err := os.Stat(k.settings.Dir); err != nil {
		return err
	} else if !info.IsDir() {
		return fmt.Errorf("%s is no directory", k.settings.Dir)
	}
	head, err := k.store.Head(ctx)
	if err != nil {
		return err
	}
	log := head.Log.String()[:8]
	if err := k.list(log); err != nil {
		return err
	}
	if k.State().age(k.o.Now()) < k.settings.Every {
		return nil
	}
	c, err := k.store.Copy(ctx, k.settings.Dir, store.Copying{Gently: true})
	if err != nil {
		return err
	}
	pictures, err := photos.In(k.register).CopyTo(photos.In(k.settings.Dir))
	k.o.Log.InfoContext(ctx, "a copy of the register was made", "file", c.Path, "position", c.At, "bytes", c.Bytes, "pictures", pictures)
	if err != nil {
		return errors.Join(err, k.list(log))
	}
	gone, err := store.Prune(k.settings.Dir, log, k.settings.Keep, k.o.Now())
	for _, c := range gone {
		k.o.Log.InfoContext(ctx, "an old copy was taken away", "file", c.Path)
	}
	return errors.Join(err, k.list(log))
}

// list reads which copies of the log there are. The newest one was walked when it
// was made.
func (k *Keeper) list(log string) error {
	list, err := store.Copies(k.settings.Dir, log)
	if err != nil {
		return err
	}
	k.mu.Lock()
	k.state.Copies = list
	k.mu.Unlock()
	return nil
}

// Now reads the clock that the keeper goes by: that of the disks.
func (k *Keeper) Now() time.Time { return k.o.Now() }

// State tells what is known now.
func (k *Keeper) State() State {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.state
}
