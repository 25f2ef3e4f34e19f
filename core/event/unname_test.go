package event

import (
	"reflect"
	"strings"
	"testing"
)

func TestCutName(t *testing.T) {
	for _, c := range []struct{ text, name, want string }{
		{"", "Z. Ward", ""},
		{"bent", "Z. Ward", "bent"},
		{"Z. Ward dropped it", "Z. Ward", "? dropped it"},
		{"dropped by z. ward", "Z. Ward", "dropped by ?"},
		{"(Z. WARD)", "Z. Ward", "(?)"},
		{"Z. Ward's and Z. Ward's", "Z. Ward", "?'s and ?'s"},
		{"Z. Wardle dropped it", "Z. Ward", "Z. Wardle dropped it"},
		{"AZ. Ward", "Z. Ward", "AZ. Ward"},
		{"backward", "Ward", "backward"},
		{"Ward-room", "Ward", "?-room"},
		{"metal, Al", "Al", "metal, ?"},
		{"Zoë und ZOË", "Zoë", "? und ?"},
		{"Zoëa", "Zoë", "Zoëa"},
		{"Ward", "", "Ward"},
		{"\xffWard", "Ward", "\xff?"},
	} {
		if got := cutName(c.text, c.name, "?"); got != c.want {
			t.Errorf("%q without %q: %q, want %q", c.text, c.name, got, c.want)
		}
		if got := Mentions(c.text, c.name); got != (c.want != c.text) {
			t.Errorf("%q mentions %q: %t", c.text, c.name, got)
		}
	}
}

// byHand are the texts of each body that somebody writes by hand; every other
// text in it is chosen from a list, read off metal, or worked out.
var byHand = map[Kind][]string{
	KindRegistered: {"Note", "Place", "ChartSource"}, KindCorrected: {"Note", "Place", "ChartSource", "Reason"},
	KindTagSpoiled: {"Note"}, KindReturned: {"Note"}, KindHeld: {"Reason"}, KindReleased: {"Reason"}, KindInspected: {"Note", "Unseen", "Method", "Why", "Repair", "Tests", "Salvage", "Qualification", "Employer", "Address", "Name"},
	KindRetired: {"Reason", "How", "Witness", "Salvage"}, KindLost: {"Note"}, KindFound: {"Note"}, KindRestored: {"Why"}, KindErased: {"Why"},
	KindTaken: {"Note"}, KindHandedOn: {"Note"}, KindPlaced: {"Area", "Note"}, KindRecalled: {"Reason"}, KindChecked: {"Note"}, KindTold: {"Note"},
	KindCountBegun: {"Places"}, KindCountEnded: {"Note"}, KindSeen: {"Place"}, KindMoved: {"Place"}, KindStray: {"Lies", "Note"}, KindStraySettled: {"How"},
	KindImpounded: {"Reason", "Holder", "Lies"}, KindCustody: {"Holder", "Lies", "Note"}, KindFreed: {"Reason"}, KindFiguresSet: {"Source"},
	KindSentOff: {"To", "Why"}, KindCameBack: {"From", "Certificate", "Stamp", "Note"}, KindExamined: {"What", "Note"}, KindRemedied: {"How"},
	KindVisitBegun: {"Examiner", "Firm", "Qualification", "Places"}, KindVisitEnded: {"Report", "Note"},
	KindLiftPlanned: {"What"}, KindLiftGivenUp: {"Why"}, KindPutBack: {"Why"},
}

// elsewhere are texts that are none of those.
var elsewhere = map[string]bool{
	"Ident": true, "Maker": true, "Typed": true, "Question": true, "Answer": true, "Edition": true, "Marked": true, "Level": true, "Stock": true,
	"Zone": true, "Prefix": true, "Letter": true, "What": true, "Measured": true, "Left": true, "Kind": true, "Lower": true, "Share": true, "Crane": true, "Said": true, "Is": true, "Reasons": true,
	"Made": true, "Regime": true, "Decision": true, "Dimension": true, "Basis": true, // of the crib, and of a person's own story, which is erased whole:
	"Address": true, "Premises": true, "As": true, "Employer": true,
}

// texts calls f for every text in a value, by its field's name.
func texts(v reflect.Value, name string, f func(name string, text reflect.Value)) {
	switch v.Kind() {
	case reflect.String:
		f(name, v)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				texts(v.Field(i), v.Type().Field(i).Name, f)
			}
		}
	case reflect.Pointer:
		if !v.IsNil() {
			texts(v.Elem(), name, f)
		}
	case reflect.Slice:
		for i := range v.Len() {
			texts(v.Index(i), name, f)
		}
	}
}

// Every text that is written by hand is cleaned of a name, in every kind of fact,
// and nothing else is touched. A new text has to be put on one of the two lists.
func TestUntoldEverywhere(t *testing.T) {
	for _, s := range samples(t) {
		kind := s.body.Kind()
		own := kind == KindPersonAdded || kind == KindPersonChanged
		box := reflect.New(reflect.TypeOf(s.body)).Elem()
		box.Set(reflect.ValueOf(s.body))
		hand := map[string]bool{}
		for _, name := range byHand[kind] {
			hand[name] = true
		}
		texts(box, "", func(name string, text reflect.Value) {
			switch {
			case hand[name]:
				text.SetString("by z. ward, here")
			case !elsewhere[name] && name != "Name" && !(kind == KindTagSpoiled && name == "Why"):
				t.Errorf("%s.%s is on neither list", kind, name)
			}
		})
		schema := SchemaOf(box.Interface().(Body))
		left, told := Untold(box.Interface().(Body), "Z. Ward", "erased person 01020304")
		if told != (len(hand) > 0) {
			t.Errorf("%s: told %t", kind, told)
			continue
		}
		if !told {
			continue
		}
		after := reflect.New(reflect.TypeOf(left)).Elem()
		after.Set(reflect.ValueOf(left))
		texts(after, "", func(name string, text reflect.Value) {
			if strings.Contains(strings.ToLower(text.String()), "ward") || hand[name] && text.String() != "by erased person 01020304, here" {
				t.Errorf("%s.%s is %q", kind, name, text)
			}
			if hand[name] {
				text.SetString("")
			}
		})
		texts(box, "", func(name string, text reflect.Value) {
			if hand[name] {
				text.SetString("")
			}
		})
		if !reflect.DeepEqual(after.Interface(), box.Interface()) {
			t.Errorf("%s: %+v, was %+v", kind, after, box)
		}
		if _, again := Untold(left, "Z. Ward", "x"); again || SchemaOf(left) != schema || own {
			t.Errorf("%s: schema %d, again %t", kind, SchemaOf(left), again)
		}
	}
}

// A name is cut out of what was left when another one was, however deep.
func TestUntoldInWhatIsLeft(t *testing.T) {
	inner := Erased{What: "note", Bodies: []ErasedBody{{At: 3, Kind: KindHeld, Schema: 1, Left: `{"reason":"x. yard hit z. ward"}`}, {At: 4, Kind: "melted", Schema: 1, Left: "z. ward"}}}
	text, err := Encode(inner)
	if err != nil {
		t.Fatal(err)
	}
	outer := Erased{What: "note", Bodies: []ErasedBody{{At: 7, Kind: KindErased, Schema: 1, Left: string(text)}}}
	left, told := Untold(outer, "Z. Ward", "?")
	if !told || !strings.Contains(left.(Erased).Bodies[0].Left, `x. yard hit ?\"`) {
		t.Errorf("%+v, %t", left, told)
	}
	if !strings.Contains(outer.Bodies[0].Left, "ward") {
		t.Error("the body that was handed in was changed")
	}
}

func TestUnnamed(t *testing.T) {
	instead := InsteadOf(PersonID{0x4d, 0x1f, 0xa2, 0xb3, 0xc4})
	if instead != "erased person 4d1fa2b3" {
		t.Errorf("%q", instead)
	}
	for _, c := range []struct{ b, want Body }{
		{PersonAdded{Name: "Z. Ward", Roles: Keeper}, PersonAdded{Name: instead, Roles: Keeper}},
		{PersonChanged{Name: "Z. Ward", Roles: Rigger, Here: true}, PersonChanged{Name: instead, Roles: Rigger, Here: true}},
		{PINSet{OneTime: true}, nil},
		{Held{Reason: "Z. Ward"}, nil},
	} {
		if left, named := Unnamed(c.b, instead); left != c.want || named != (c.want != nil) {
			t.Errorf("%+v: %+v, %t", c.b, left, named)
		}
	}
}
