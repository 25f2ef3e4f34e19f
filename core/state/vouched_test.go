package state

import (
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// The last word of keeper and inspector stands, at the time of its envelope.
func TestVouched(t *testing.T) {
	floor := time.UnixMilli(1_770_000_500_000).UTC()
	both, alone := event.Signed{Keeper: who, Inspector: event.PersonID{9}}, event.Signed{Keeper: who, Inspector: who}
	confirmed, corrected := event.DateConfirmed{Floor: floor, Signed: both}, event.ClockCorrected{Floor: floor, Signed: alone}
	for _, c := range []struct {
		name      string
		list      []event.Body
		by        event.Signed
		corrected bool
	}{
		{"never", nil, event.Signed{}, false},
		{"confirmed", []event.Body{confirmed}, both, false},
		{"corrected", []event.Body{corrected}, alone, true},
		{"confirmed, then corrected", []event.Body{confirmed, corrected}, alone, true},
		{"corrected, then confirmed", []event.Body{corrected, confirmed}, both, false},
	} {
		list := story(append([]event.Body{founded()}, c.list...)...)
		v := FoldCrib(list).Vouched
		want := Vouched{Corrected: c.corrected, Signed: c.by}
		if len(c.list) > 0 {
			want.At, want.Floor = list[len(list)-1].UTC, floor
		}
		if v != want {
			t.Errorf("%s: %+v, want %+v", c.name, v, want)
		}
	}
}

// That a name was erased is known of the person from then on, and changes nothing
// else: it may happen to a copy in which the person still works here.
func TestErasedPerson(t *testing.T) {
	added, off := event.PersonAdded{Name: "A", Roles: event.Keeper}, event.PersonChanged{Name: "A", Roles: event.Keeper}
	erased := event.Erased{What: "name"}
	for _, c := range []struct {
		name   string
		list   []event.Body
		erased bool
		may    bool
		doubt  Doubt
	}{
		{"here", []event.Body{added}, false, true, 0},
		{"taken off and erased", []event.Body{added, off, erased}, true, false, 0},
		{"erased while here", []event.Body{added, erased}, true, true, 0},
		{"and taken off then", []event.Body{added, erased, off}, true, false, 0},
		{"nobody", []event.Body{erased}, false, false, Contradicts},
	} {
		p := FoldPerson(who, story(c.list...))
		if p.Erased != c.erased || p.May(event.Keeper, quantity.Date{}) != c.may || p.Doubt != c.doubt {
			t.Errorf("%s: %+v", c.name, p)
		}
	}
	if c := FoldCrib(story(founded(), erased)); c.Doubt != 0 {
		t.Errorf("a crib of which something was erased: doubt %b", c.Doubt)
	}
}
