package copies

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"cribgate/store"
)

// State is what a keeper knows. The zero State knows nothing and warns of
// nothing.
type State struct {
	Settings Settings
	Copies   []store.CopyFile // of the log that goes on, the newest first
	Failed   error            // why the last try made no copy; nil where it did, or none was due
	Tried    bool             // it has been tried since the kiosk began to serve
	Disks    []Disk
	SameDisk bool // copies and register lie on one disk
}

// Disk is the room on one disk.
type Disk struct {
	Holds  string // what lies there: "register", "copies", "register and copies"
	Dir    string
	Free   int64 // bytes for this program
	PerDay int64 // bytes that are added a day, at the pace of the last weeks
	ToCome int64 // bytes of copies that are still to come until as many are there as are kept
}

// noForecast is what Days gives where nothing is added.
const noForecast = 1 << 20

// Days is how long the room lasts.
func (d Disk) Days() int {
	free := d.Free - d.ToCome
	switch {
	case free <= 0:
		return 0
	case d.PerDay <= 0:
		return noForecast
	}
	return int(min(free/d.PerDay, noForecast))
}

// When somebody is told; site policy of this program, no source.
const (
	// WarnDays is for how many days the room has to last.
	WarnDays = 14
	// LeastFree is how many bytes have to be free whatever the pace.
	LeastFree = 128 << 20
	// lateAfter is how many times the interval the newest copy may be old.
	lateAfter = 3
)

// Newest is the newest good copy, false where there is none. One that says to be
// of a time that has not come yet does not count: a clock was wrong.
func (s State) Newest(now time.Time) (store.CopyFile, bool) {
	for _, c := range s.Copies {
		if !c.Made.After(now.Add(slack)) {
			return c, true
		}
	}
	return store.CopyFile{}, false
}

// slack is how far the clocks of two disks may differ (site policy, no source).
const slack = time.Minute

// age is how old the newest copy is; very old where there is none.
func (s State) age(now time.Time) time.Duration {
	c, ok := s.Newest(now)
	if !ok {
		return 1 << 62
	}
	return now.Sub(c.Made)
}

// Late reports whether the newest copy is too old.
func (s State) Late(now time.Time) bool {
	return s.Settings.Dir != "" && s.Tried && s.age(now) > lateAfter*s.Settings.Every
}

// Warnings says what somebody has to do something about, the gravest first. That
// no copies are made at all is for the keeper.
func (s State) Warnings(now time.Time, keeper bool) []string {
	var list []string
	for _, d := range s.Disks {
		if w := d.warning(); w != "" {
			list = append(list, w)
		}
	}
	_, some := s.Newest(now)
	switch {
	case s.Settings.Dir == "" && !keeper:
	case s.Settings.Dir == "":
		list = append(list, "No copies of the register are made: if this disk fails, everything on record is gone.")
	case errors.Is(s.Failed, store.ErrDamaged):
		list = append(list, "No more copies of the register are made"+s.why()+". Keep the copies that there are.")
	case s.Late(now) && !some:
		list = append(list, "There is no copy of the register, and none could be made"+s.why()+".")
	case s.Late(now):
		list = append(list, fmt.Sprintf("The last good copy of the register is %s old, and none could be made since%s.", Age(s.age(now)), s.why()))
	case len(s.Copies) > 0 && s.Copies[0].Made.After(now.Add(slack)):
		list = append(list, "A copy of the register is of a time that has not come yet: a clock is or was wrong.")
	}
	if s.SameDisk && keeper {
		list = append(list, "The copies of the register lie on the disk that the register is on: what breaks one takes the other.")
	}
	return list
}

func (s State) why() string {
	switch err := s.Failed; {
	case err == nil:
		return ""
	case errors.Is(err, store.ErrDamaged):
		return ": the register does not hold"
	case errors.Is(err, store.ErrDiskFull):
		return ": the disk of the copies is full"
	case errors.Is(err, fs.ErrNotExist):
		return ": " + s.Settings.Dir + " is not there"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, store.ErrReadOnly):
		return ": " + s.Settings.Dir + " cannot be written"
	default:
		return ": " + err.Error()
	}
}

func (d Disk) warning() string {
	days := d.Days()
	free := Bytes(d.Free) + " are free on the disk of the " + d.Holds
	switch {
	case d.Free < LeastFree:
		return "The disk is nearly full: " + free + ". When it is full, nothing more can be recorded. Make room now."
	case d.Free <= d.ToCome:
		return fmt.Sprintf("The disk is too small: %s, and the copies that are to be kept need %s more. Make room, or keep fewer.", free, Bytes(d.ToCome))
	case days < WarnDays:
		return fmt.Sprintf("The disk will be full in %s: %s, and %s are added a day. Make room before.", dayWords(days), free, Bytes(d.PerDay))
	}
	return ""
}

func dayWords(n int) string {
	switch n {
	case 0:
		return "less than a day"
	case 1:
		return "about a day"
	}
	return fmt.Sprintf("about %d days", n)
}

// Age writes how long ago something was, in the unit that a person would say.
func Age(d time.Duration) string {
	switch {
	case d < 2*time.Minute:
		return "a minute"
	case d < 2*time.Hour:
		return fmt.Sprintf("%d minutes", int(d/time.Minute))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d hours", int(d/time.Hour))
	}
	return fmt.Sprintf("%d days", int(d/(24*time.Hour)))
}

// Bytes writes a number of bytes in the unit that a person would say.
func Bytes(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d bytes", n)
	case n < 1_000_000:
		return fmt.Sprintf("%d kB", n/1000)
	case n < 10_000_000_000:
		return fmt.Sprintf("%d MB", n/1_000_000)
	}
	return fmt.Sprintf("%d GB", n/1_000_000_000)
}

// look measures the room on the disks.
func (k *Keeper) look(ctx context.Context) error {
	growth, err := k.store.Growth(ctx, k.o.Now())
	if err != nil {
		return err
	}
	here, err := k.o.Room(k.register)
	if errors.Is(err, errors.ErrUnsupported) {
		return nil // nobody can tell on this system
	}
	if err != nil {
		return err
	}
	disks := []Disk{{Holds: "register", Dir: k.register, Free: here.Free, PerDay: growth.PerDay}}
	same := false
	if k.settings.Dir != "" {
		there, roomErr := k.o.Room(k.settings.Dir)
		if roomErr == nil {
			copies := Disk{Holds: "copies", Dir: k.settings.Dir, Free: there.Free, PerDay: growth.PerDay * k.settings.most(), ToCome: k.toCome(growth)}
			if same = there.Disk == here.Disk; same {
				disks[0].Holds = "register and copies"
				disks[0].PerDay += copies.PerDay
				disks[0].ToCome = copies.ToCome
			} else {
				disks = append(disks, copies)
			}
		}
		err = roomErr
	}
	k.mu.Lock()
	k.state.Disks, k.state.SameDisk = disks, same
	k.mu.Unlock()
	return err
}

// toCome is how many bytes of copies there will be besides those that are there,
// once as many are there as are kept, and one that is being made.
func (k *Keeper) toCome(g store.Growth) int64 {
	var there int64
	for _, c := range k.State().Copies {
		there += c.Bytes
	}
	return max(0, (k.settings.most()+1)*g.Bytes-there)
}
