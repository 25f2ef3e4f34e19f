package state

import (
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// Restoration says how the log that the crib goes on with began. The zero value
// is a log that was founded and never restored.
type Restoration struct {
	Log   event.LogID // the log that began so, and goes on
	From  event.LogID // the log that the copy was of
	At    int64       // position of the last event that was brought back
	Head  event.Hash  // of that event's envelope
	Why   string
	By    event.PersonID // zero for the program itself
	Since time.Time      // UTC of the restoration
}

// Ahead is a tag of this crib's own key that was read and says more than the
// register knows.
type Ahead struct {
	Tag event.TagAhead
	By  event.PersonID // who read it
	Day quantity.Date
}

// ToCompare reports whether tag, plate and record of a sling have to be held
// against each other before it goes out: the register was restored since.
func (c Crib) ToCompare(s Sling) bool {
	return c.Restored != (Restoration{}) && s.ComparedIn != c.Restored.Log
}

// Behind reports whether a tag of that key, number and serial is on the list of
// those that say more than the register knows.
func (c Crib) Behind(key tagcode.Fingerprint, number tagcode.Number, serial tagcode.Serial) bool {
	return slices.ContainsFunc(c.Ahead, func(a Ahead) bool {
		return a.Tag.Key == key && a.Tag.Number == number && a.Tag.Serial == serial
	})
}

func (c Crib) restored(b event.Restored, e Event) Crib {
	if e.Log == b.From || c.Restored != (Restoration{}) && b.From != c.Restored.Log {
		c.Doubt |= Contradicts
	}
	c.Restored = Restoration{Log: e.Log, From: b.From, At: b.At, Head: b.Head, Why: b.Why, By: e.By, Since: e.UTC}
	return c
}

func (c Crib) ahead(b event.TagAhead, e Event) Crib {
	if !c.Behind(b.Key, b.Number, b.Serial) {
		c.Ahead = append(slices.Clone(c.Ahead), Ahead{Tag: b, By: e.By, Day: e.Day})
	}
	return c
}

// compared notes that the sling was looked at in this log. A tag that was
// scanned for it is the live one.
func (s Sling) compared(b event.Compared, e Event) Sling {
	if live, ok := s.Live(); b.Serial != 0 && (!ok || live.Serial != b.Serial) {
		s.Doubt |= Contradicts
	}
	s.ComparedIn = e.Log
	return s
}

func (w writer) restored(r Restoration) {
	w.Obj("restored")
	w.Str("log", r.Log.String())
	w.Str("from", r.From.String())
	w.Int("at", r.At)
	w.Str("head", r.Head.String())
	w.Str("why", r.Why)
	w.Str("by", r.By.String())
	w.time("since", r.Since)
	w.End()
}

func (r *reader) restored() Restoration {
	return Restoration{
		Log: r.log("log"), From: r.log("from"), At: r.Int("at", 1, 1<<62), Head: r.hash("head"),
		Why: r.Str("why"), By: r.person("by"), Since: r.time("since"),
	}
}

func (w writer) ahead(a Ahead) {
	w.Begin()
	w.body("tag", a.Tag)
	w.Str("by", a.By.String())
	w.Str("day", a.Day.String())
	w.End()
}

func (r *reader) ahead() Ahead {
	return Ahead{Tag: event.ReadTagAhead(r.Obj("tag")), By: r.person("by"), Day: r.date("day")}
}

func (r *reader) log(name string) event.LogID { return event.ReadLog(r.Object, name) }

func (r *reader) hash(name string) event.Hash {
	h, err := event.ParseHash(r.Str(name))
	if err != nil {
		r.Fail(name, "not a hash")
	}
	return h
}
