package event

import (
	"slices"

	"cribgate/core/due"
	"cribgate/core/quantity"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
	"cribgate/core/trade"
)

// Policy is what the crib decides for itself; none of it has a published
// source. The safety rules it tightens are elsewhere and cannot be loosened
// by it.
type Policy struct {
	StrictChoke bool           // no choke above 75 %
	MaxMonths   int            // longest interval between thorough inspections, 1 to 12
	MaxTilt     quantity.Angle // how far from level a load may hang
	MarginPct   int            // added to a load that is not weighed
	OldTagGoes  bool           // a tag whose dates are behind the record may go out
	AskEvery    int            // once in so many issues, at random, the plate's characters are asked; 0 never
	OnePerson   bool           // the inspector may issue what he passed; it is marked
	Prefix      string         // in front of a tag's text; empty for none

	// With any of these: schema 2.
	Words  WordList // on pages and paper; zero: as the crib's rules have it
	Cranes []Crane  // that slings are hung on, in the order in which they are offered

	Employer Employer // with any: schema 3
}

func (p Policy) schema() int {
	switch {
	case p.Employer != Employer{}:
		return 3
	case p.Words != 0 || len(p.Cranes) > 0:
		return 2
	}
	return 1
}

// Employer is for whom the crib's slings are examined, as a report of thorough
// examination names it (LOLER 1998 schedule 1 items 1 and 2). The zero value is not
// said.
type Employer struct {
	Name     string
	Address  string
	Premises string // where the examinations are made; empty: at Address
}

func readEmployer(o *strict.Object) Employer {
	if o == nil {
		return Employer{}
	}
	return Employer{Name: o.Str("name"), Address: o.Str("address"), Premises: o.Str("premises")}
}

func (e Employer) write(w *strict.Writer) {
	if e == (Employer{}) {
		return
	}
	w.Obj("employer")
	w.Str("name", e.Name)
	w.Str("address", e.Address)
	w.Str("premises", e.Premises)
	w.End()
}

// WordList says which side of the ocean the words on pages and paper come from.
type WordList uint8

// The word lists. The zero value follows from the crib's rules.
const (
	WordsUS WordList = iota + 1
	WordsUK
)

var wordLists = []string{WordsUS: "us", WordsUK: "uk"}

// Under is the list that a crib's words come from, which goes by those rules: its
// own choice, or US words under US law and UK words elsewhere.
func (w WordList) Under(r due.Rules) trade.List {
	switch {
	case w == WordsUS:
		return trade.US
	case w == WordsUK, r == due.UK, r == due.EN:
		return trade.UK
	}
	return trade.US
}

func readWords(o *strict.Object) WordList {
	word := o.OptStr("words", "")
	if word == "" {
		return 0
	}
	i := slices.Index(wordLists, word)
	if i < 0 {
		o.Fail("words", "not us or uk")
		return 0
	}
	return WordList(i)
}

func readPolicy(o *strict.Object) Policy {
	return Policy{
		StrictChoke: o.Bool("strict_choke"),
		MaxMonths:   int(o.Int("max_months", 1, 12)),
		MaxTilt:     quantity.Angle(o.Int("max_tilt_mdeg", 0, 45_000)) * quantity.MilliDegree,
		MarginPct:   int(o.Int("margin_pct", 0, 1000)),
		OldTagGoes:  o.Bool("old_tag_goes"),
		AskEvery:    int(o.Int("ask_every", 0, 1000)),
		OnePerson:   o.Bool("one_person"),
		Prefix:      o.Str("prefix"),
		Words:       readWords(o),
		Cranes:      readCranes(o),
		Employer:    readEmployer(o.OptObj("employer")),
	}
}

func (p Policy) write(w *strict.Writer, name string) {
	w.Obj(name)
	w.Bool("strict_choke", p.StrictChoke)
	w.Int("max_months", int64(p.MaxMonths))
	w.Int("max_tilt_mdeg", int64(p.MaxTilt/quantity.MilliDegree))
	w.Int("margin_pct", int64(p.MarginPct))
	w.Bool("old_tag_goes", p.OldTagGoes)
	w.Int("ask_every", int64(p.AskEvery))
	w.Bool("one_person", p.OnePerson)
	w.Str("prefix", p.Prefix)
	if p.Words != 0 {
		w.Str("words", wordLists[p.Words])
	}
	writeCranes(w, p.Cranes)
	p.Employer.write(w)
	w.End()
}

// Founded opens a register: position 1 of every log.
type Founded struct {
	Name   string
	Units  quantity.Units // which lead on pages; the other is given in small print
	Rules  due.Rules      // which law's intervals hold here
	Zone   string         // time zone name; the crib's local date decides what is due
	Policy Policy
}

// Kind is KindFounded.
func (Founded) Kind() Kind { return KindFounded }

// ReadFounded reads a Founded body. o may hold other names for its caller, who
// also calls o.Done.
func ReadFounded(o *strict.Object) Founded {
	f := Founded{Name: readName(o), Zone: o.Str("zone")}
	var known bool
	if f.Units, known = quantity.ParseUnits(o.Str("units")); !known {
		o.Fail("units", "not lb-in or kg-mm")
	}
	if f.Rules, known = due.ParseRules(o.Str("rules")); !known {
		o.Fail("rules", "not us, en, uk or yard")
	}
	f.Policy = readPolicy(o.Obj("policy"))
	return f
}

func (f Founded) schema() int { return f.Policy.schema() }

func (f Founded) write(w *strict.Writer) {
	w.Str("name", f.Name)
	w.Str("units", f.Units.String())
	w.Str("rules", f.Rules.String())
	w.Str("zone", f.Zone)
	f.Policy.write(w, "policy")
}

// PolicySet replaces the policy.
type PolicySet struct{ Policy Policy }

// Kind is KindPolicySet.
func (PolicySet) Kind() Kind { return KindPolicySet }

func (p PolicySet) schema() int { return p.Policy.schema() }

func (p PolicySet) write(w *strict.Writer) { p.Policy.write(w, "policy") }

// KeyMade says that tags are sealed with this key from now on. The key itself
// lies outside the register.
type KeyMade struct{ Fingerprint tagcode.Fingerprint }

// Kind is KindKeyMade.
func (KeyMade) Kind() Kind { return KindKeyMade }

func readKeyMade(o *strict.Object) KeyMade {
	return KeyMade{Fingerprint: readFingerprint(o, "fingerprint")}
}

func (k KeyMade) write(w *strict.Writer) { w.Str("fingerprint", k.Fingerprint.String()) }

// readName reads a name, which is never empty.
func readName(o *strict.Object) string {
	name := o.Str("name")
	if name == "" {
		o.Fail("name", "empty")
	}
	return name
}

func readFingerprint(o *strict.Object, name string) tagcode.Fingerprint {
	f, err := tagcode.ParseFingerprint(o.Str(name))
	if err != nil {
		o.Fail(name, "not a key fingerprint")
	}
	return f
}
