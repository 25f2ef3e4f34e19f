package state

import (
	"reflect"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// within gives the events a log each; the last log goes on.
func within(list []Event, logs ...byte) []Event {
	for i := range list {
		list[i].Log = event.LogID{logs[min(i, len(logs)-1)]}
	}
	return list
}

func restored(from byte) event.Restored {
	return event.Restored{From: event.LogID{from}, At: 2, Head: event.Hash{7}, Why: "the disk failed"}
}

func cribStory(bodies ...event.Body) []event.Body {
	founded := event.Founded{Name: "C", Units: quantity.Metric, Rules: due.EN, Zone: "UTC", Policy: event.Policy{MaxMonths: 12}}
	return append([]event.Body{founded}, bodies...)
}

// A crib goes on in the log that the restoration began; one that does not follow
// the log before it is a contradiction.
func TestRestored(t *testing.T) {
	for _, c := range []struct {
		name  string
		list  []Event
		log   byte
		doubt Doubt
	}{
		{"never", within(story(cribStory()...), 1), 0, 0},
		{"once", within(story(cribStory(restored(1))...), 1, 2), 2, 0},
		{"twice", within(story(cribStory(restored(1), restored(2))...), 1, 2, 3), 3, 0},
		{"in its own log", within(story(cribStory(restored(1))...), 1), 1, Contradicts},
		{"past a log", within(story(cribStory(restored(1), restored(1))...), 1, 2, 3), 3, Contradicts},
	} {
		crib := FoldCrib(c.list)
		if crib.Restored.Log != (event.LogID{c.log}) || crib.Doubt != c.doubt {
			t.Errorf("%s: log %x, doubt %b", c.name, crib.Restored.Log, crib.Doubt)
		}
		text, err := crib.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if back, err := DecodeCrib(text); err != nil || !reflect.DeepEqual(back, crib) {
			t.Errorf("%s: read %+v, want %+v, %v", c.name, back, crib, err)
		}
	}
}

// Who registers a sling, confirms its tag or compares it in a log has compared it
// in that log; nothing else does.
func TestComparedIn(t *testing.T) {
	confirmed := event.TagConfirmed{Serial: 1, Typed: "S-1"}
	for _, c := range []struct {
		name   string
		bodies []event.Body
		logs   []byte
		in     byte
		doubt  Doubt
	}{
		{"registered", registered(), []byte{1}, 1, 0},
		{"registered after it", registered(), []byte{2}, 2, 0},
		{"a tag confirmed after it", registered(printed(1), confirmed), []byte{1, 1, 2}, 2, 0},
		{"a tag printed after it", registered(printed(1)), []byte{1, 2}, 1, 0},
		{"inspected after it", registered(inspected(tagcode.Fit)), []byte{1, 2}, 1, 0},
		{"refused after it", registered(event.Refused{}), []byte{1, 2}, 1, 0},
		{"held and released after it", registered(event.Held{Reason: "a"}, event.Released{Reason: "b"}), []byte{1, 2}, 1, 0},
		{"compared by its plate", registered(event.Compared{Typed: "CS-1"}), []byte{1, 2}, 2, 0},
		{"compared by its tag", registered(printed(1), confirmed, event.Compared{Serial: 1, Typed: "S-1"}), []byte{1, 1, 1, 2}, 2, 0},
		{"compared by a tag that does not live", registered(printed(1), event.Compared{Serial: 1}), []byte{1, 1, 2}, 2, Contradicts},
		{"compared while it is out", registered(event.Issued{Rigger: who}, event.Compared{Typed: "CS-1"}), []byte{1, 1, 2}, 2, Contradicts},
		{"compared while it is lost", registered(event.Lost{}, event.Compared{Typed: "CS-1"}), []byte{1, 1, 2}, 2, Contradicts},
	} {
		list := within(story(c.bodies...), c.logs...)
		s := FoldSling(id, list)
		if s.ComparedIn != (event.LogID{c.in}) || s.Doubt != c.doubt {
			t.Errorf("%s: compared in %x, doubt %b", c.name, s.ComparedIn, s.Doubt)
		}
		crib := FoldCrib(within(story(cribStory(restored(1))...), 1, 2))
		if got := crib.ToCompare(s); got != (c.in != 2) {
			t.Errorf("%s: to compare %v", c.name, got)
		}
		if FoldCrib(within(story(cribStory()...), 1)).ToCompare(s) {
			t.Errorf("%s: to be compared in a register that was never restored", c.name)
		}
	}
}

// A tag that the register is behind of is listed once.
func TestAhead(t *testing.T) {
	one := event.TagAhead{Key: key, Number: 7, Serial: 3}
	two := event.TagAhead{Key: key, Number: 7, Serial: 4, Inspected: details().Sling.Inspected}
	c := FoldCrib(story(cribStory(one, two, one)...))
	if len(c.Ahead) != 2 || c.Ahead[0].Tag != one || c.Ahead[1].Tag != two || c.Ahead[1].By != who || c.Doubt != 0 {
		t.Fatalf("%+v", c.Ahead)
	}
	if !c.Behind(key, 7, 4) || c.Behind(key, 7, 5) || c.Behind(key, 8, 4) || c.Behind(tagcode.Fingerprint{}, 7, 4) {
		t.Error("another tag is listed, or one is not")
	}
	text, err := c.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if back, err := DecodeCrib(text); err != nil || !reflect.DeepEqual(back, c) {
		t.Errorf("read %+v, want %+v, %v", back, c, err)
	}
}
