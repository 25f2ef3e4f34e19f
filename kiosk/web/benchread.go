package web

import (
	"strings"
	"unicode/utf8"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// A FieldSays is what is said under one field while it is filled in.
type FieldSays struct {
	Name  string
	Small string // the same in the other unit
	Error string // it is not taken
	Asked string // it is strange, and not taken until it is said to be so
	Text  string // what is asked about, or was
	So    bool   // it was said to be so
}

// A sheetRead is a draft as it is understood so far.
type sheetRead struct {
	sling  state.Sling
	unit   quantity.Units
	other  quantity.Units
	fields map[string]string
	found  removal.Found
	legs   []event.LegFound
	says   map[string]FieldSays

	// From which field each of what was found was read.
	links, runs, hooks, parts []string
}

// readSheet reads the fields of a draft. What cannot be read, or is strange and has
// not been said to be so, is left out and said at its field.
func readSheet(s state.Sling, fields map[string]string, w words) *sheetRead {
	r := &sheetRead{sling: s, unit: w.lead, other: w.other, fields: fields, says: map[string]FieldSays{}}
	for leg := 1; leg <= s.Details.Sling.Legs; leg++ {
		r.leg(leg)
	}
	for _, p := range sharedParts(s) {
		r.part(p)
	}
	for _, c := range removal.SeenCodes() {
		if fields["seen-"+c.String()] != "" {
			r.found.Seen = append(r.found.Seen, c)
		}
	}
	return r
}

// wrong counts the fields that are not taken.
func (r *sheetRead) wrong() (n int) {
	for _, says := range r.says {
		if says.Error != "" || says.Asked != "" {
			n++
		}
	}
	return n
}

func (r *sheetRead) complain(name, sentence string) {
	says := r.says[name]
	says.Name, says.Error = name, sentence
	r.says[name] = says
}

// settle puts what was read of a field beside it: taken or asked about.
func (r *sheetRead) settle(name, small, asked string) (taken bool) {
	text := r.fields[name]
	says := FieldSays{Name: name, Small: small}
	if asked != "" {
		says.Text, says.So = text, r.fields["ok-"+name] == text
		if !says.So {
			says.Asked = asked
		}
	}
	r.says[name] = says
	return says.Asked == ""
}

// gauge reads a length; 0 where there is none or it is not taken.
func (r *sheetRead) gauge(name string, near ought, up bool) quantity.Length {
	text := r.fields[name]
	if text == "" {
		return 0
	}
	l, complaint := readGauge(text, r.unit, up)
	if complaint != "" {
		r.complain(name, complaint)
		return 0
	}
	if !r.settle(name, r.other.Measured(l), strange(l, near, r.unit)) {
		return 0
	}
	return l
}

func (r *sheetRead) leg(leg int) {
	of := func(name string) string { return legField(leg, name) }
	found := event.LegFound{Links: r.linkCount(leg), Reach: r.gauge(of("reach"), r.newOr(event.Reach, leg, r.sling.Details.Sling.Reach), true)}
	r.legs = append(r.legs, found)
	d := ought{r.sling.Details.Sling.Size.Nominal(), "the nominal diameter"}
	for i := 1; i <= places; i++ {
		k := of("k" + itoa(i))
		d1, d2 := r.gauge(k+"-d1", d, false), r.gauge(k+"-d2", d, false)
		if d1 == 0 && d2 == 0 {
			continue
		}
		at, complaint := readCount(r.fields[k+"-at"])
		if n, recorded := linksOf(r.sling, leg); complaint == "" && recorded && at > n {
			complaint = "This leg has " + itoa(int(n)) + " links on record."
		}
		if complaint != "" {
			r.complain(k+"-at", complaint)
			continue
		}
		if d1 > 0 && d2 > 0 {
			r.found.Links = append(r.found.Links, removal.Link{Leg: leg, At: at, D1: d1, D2: d2})
			r.links = append(r.links, k)
		}
	}
	r.legRuns(leg)
	if hooked(r.sling, leg) {
		r.hook(leg)
	}
	for _, p := range legParts(r.sling, leg) {
		r.part(p)
	}
}

// linkCount reads how many links a leg has; another number than on record is asked about.
func (r *sheetRead) linkCount(leg int) int64 {
	name := legField(leg, "links")
	text := r.fields[name]
	if text == "" {
		return 0
	}
	n, complaint := readCount(text)
	if complaint != "" {
		r.complain(name, complaint)
		return 0
	}
	asked := ""
	if ought, recorded := linksOf(r.sling, leg); recorded && n != ought {
		asked = "The record has " + itoa(int(ought)) + " links in this leg. Count again: a link too few was cut out, a link too many is another chain."
	}
	if !r.settle(name, "", asked) {
		return 0
	}
	return n
}

func (r *sheetRead) legRuns(leg int) {
	links := int64(runLinks)
	if text := r.fields[legField(leg, "n")]; text != "" {
		n, complaint := readCount(text)
		if complaint != "" {
			r.complain(legField(leg, "n"), complaint)
			return
		}
		links = n
	}
	for i := 1; i <= places; i++ {
		name := legField(leg, "r"+itoa(i))
		if l := r.gauge(name, byPitch(r.sling, links), true); l > 0 {
			r.found.Runs = append(r.found.Runs, removal.Run{Leg: leg, Links: links, Length: l})
			r.runs = append(r.runs, name)
		}
	}
}

// hook reads a hook; it counts when all of it was measured.
func (r *sheetRead) hook(leg int) {
	of := func(name string) string { return legField(leg, name) }
	h := removal.Hook{Leg: leg, Throat: r.gauge(of("throat"), r.newOr(event.Throat, leg, 0), true), Section: r.gauge(of("section"), r.newOr(event.Section, leg, 0), false)}
	latch, known := removal.ParseLatch(r.fields[of("latch")])
	h.Latch = latch
	twist := r.fields[of("twist")]
	if twist != "" {
		var complaint string
		if h.Twist, complaint = readDegrees(twist); complaint == "" && h.Twist > removal.MaxTwist {
			complaint = "This is more than a whole turn. Read it again."
		}
		if complaint != "" {
			r.complain(of("twist"), complaint)
			return
		}
	}
	if h.Throat > 0 && h.Section > 0 && known && twist != "" {
		r.found.Hooks = append(r.found.Hooks, h)
		r.hooks = append(r.hooks, legField(leg, "hook"))
	}
}

func (r *sheetRead) part(p part) {
	near := ought{counter.NewOf(r.sling, event.FigureOf{Dimension: event.Thickness, What: p.what, Leg: p.leg}).Value, whenNew}
	if l := r.gauge(p.name, near, false); l > 0 {
		r.found.Parts = append(r.found.Parts, removal.Part{What: p.what, Leg: p.leg, Thinnest: l})
		r.parts = append(r.parts, p.name)
	}
}

// whenNew is how a dimension is known that is on record of the new part.
const whenNew = "what it was when new"

// newOr is a dimension of a leg when new, or else what is on record of it instead.
func (r *sheetRead) newOr(d event.Dimension, leg int, instead quantity.Length) ought {
	if f := counter.NewOf(r.sling, event.FigureOf{Dimension: d, Leg: leg}); f.Value > 0 {
		return ought{f.Value, whenNew}
	}
	return ought{instead, "what is on record"}
}

// byPitch is how long so many links of a sling are by the nominal pitch.
func byPitch(s state.Sling, links int64) ought {
	return ought{removal.NominalRun(s.Details.Sling.Size, links), "the nominal pitch over " + itoa(int(links)) + " links"}
}

// fieldOf is where a measure was typed: the row that its bar stands in.
func (r *sheetRead) fieldOf(m removal.Measure) string {
	switch m.Kind {
	case removal.LeastDiameter, removal.MeanDiameter:
		return r.links[m.Index]
	case removal.RunLength, removal.LegsApart:
		return r.runs[m.Index]
	case removal.PartThickness:
		return r.parts[m.Index]
	}
	return r.hooks[m.Index]
}

// typed gives what a form sent for a step: each of its fields as one line without
// characters that no keyboard has, cut off where it is too long for a draft.
func (v *visit) typed(names []string) map[string]string {
	fields := map[string]string{}
	for _, name := range names {
		text := strings.ToValidUTF8(strings.Join(strings.Fields(strings.Map(dropControl, v.raw(name))), " "), "")
		for utf8.RuneCountInString(text) > maxText {
			_, size := utf8.DecodeLastRuneInString(text)
			text = text[:len(text)-size]
		}
		fields[name] = text
	}
	return fields
}

func dropControl(r rune) rune {
	if isControl(r) {
		return ' '
	}
	return r
}
