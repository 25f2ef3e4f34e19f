package web

import (
	"errors"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// SetupPage shows what the crib is and lets a keeper change its policy.
type SetupPage struct {
	Base
	CribFacts []Fact
	Rule      string
	Register  []Fact
	Hash      string
	Keys      []KeyRow
	Heads     string
	Stale     string // what the policy is now, where someone else changed it meanwhile

	Choke, OldTag, OnePerson, Words         Choice
	Cranes                                  []CraneRow
	HookHint                                string
	MaxMonths, MaxTilt, Margin, Ask, Prefix Field
	Employer                                []Field
}

// A KeyRow is one key that has sealed tags.
type KeyRow struct {
	Fingerprint string
	Sub         string
	Missing     bool
}

func (s *Server) setup(v *visit) error {
	return s.renderSetup(v, http.StatusOK, policyForm(v.crib.Founded.Policy), complaints{}, "")
}

// policyForm fills the form with a policy.
func policyForm(p event.Policy) detailsForm {
	values := map[string]string{
		"strict-choke": yesNo(p.StrictChoke), "max-months": itoa(p.MaxMonths), "max-tilt": strings.TrimSuffix(p.MaxTilt.String(), "°"),
		"margin": itoa(p.MarginPct), "old-tag": yesNo(p.OldTagGoes), "ask-every": itoa(p.AskEvery),
		"one-person": yesNo(p.OnePerson), "prefix": p.Prefix, "words": wordsAnswer(p.Words),
		"employer": p.Employer.Name, "employer-address": p.Employer.Address, "premises": p.Employer.Premises,
	}
	filledCranes(values, p.Cranes)
	return func(name string) string { return values[name] }
}

func (s *Server) renderSetup(v *visit, status int, f detailsForm, c complaints, stale string) error {
	ctx := v.r.Context()
	head, err := s.Store.Head(ctx)
	if err != nil {
		return err
	}
	counts, err := s.Store.Count(ctx)
	if err != nil {
		return err
	}
	slings := 0
	for _, n := range counts {
		slings += n
	}
	crib := v.crib
	w := v.wordsOf(nil)
	p := &SetupPage{
		Base:  Base{Title: "Set-up"},
		Rule:  rulesWords(crib.Founded.Rules),
		Hash:  head.Hash.String(),
		Heads: headsText(crib.Heads), Stale: stale,
		CribFacts: []Fact{
			{Label: "Crib", Value: crib.Founded.Name},
			{Label: "Units that lead", Value: unitWords(w.lead)},
			{Label: "Inspection intervals", Value: rulesWords(crib.Founded.Rules)},
			{Label: "Time zone", Value: crib.Founded.Zone},
		},
		Register: []Fact{
			{Label: "Newest entry", Value: "position " + strconv.FormatInt(head.At, 10), Small: w.clock(head.Time)},
			{Label: "Slings ever registered", Value: strconv.Itoa(slings)},
			{Label: "Program", Value: "Cribgate " + s.Version},
		},
	}
	for i, fingerprint := range crib.Keys {
		row := KeyRow{Fingerprint: fingerprint.String(), Sub: "sealed tags earlier"}
		if i == len(crib.Keys)-1 {
			row.Sub = "seals tags now"
		}
		if _, err := s.Keys.Current(fingerprint); err != nil {
			row.Missing, row.Sub = true, row.Sub+"; the key is not on this machine"
		}
		p.Keys = append(p.Keys, row)
	}
	p.policy(f, c)
	p.Cranes, p.HookHint = craneRows(f, c), "How thick the hook is where the upper link lies, measured across, "+widthLike(w.lead)+
		". The link must go over it into the bowl: where one of the two was not measured, the counter asks for a look"
	return s.render(v, status, "setup", p)
}

func (p *SetupPage) policy(f detailsForm, c complaints) {
	field := func(name, label, hint, unit string) Field {
		return Field{Name: name, Label: label, Hint: hint, Unit: unit, Mode: "numeric", Most: 6, Value: f(name), Error: c[name]}
	}
	choice := func(name, legend, hint string, no, yes string) Choice {
		return Choice{Name: name, Legend: legend, Hint: hint, Error: c[name], Options: options(f(name), [][3]string{{"no", "No", no}, {"yes", "Yes", yes}})}
	}
	p.Margin = field("margin", "Added to a load that is not weighed", "", "%")
	p.MaxMonths = field("max-months", "Longest time between thorough inspections", "1 to 12; where the rules ask for less, the rules count", "months")
	p.MaxTilt = field("max-tilt", "How far a load may hang from level", "0° to 45°, from horizontal", "°")
	p.MaxTilt.Mode = "decimal"
	p.Choke = choice("strict-choke", "Choke hitch: never above 75 %?", "", "as listed, up to 80 %", "75 % at the most")
	p.OldTag = choice("old-tag", "May a tag that shows old dates go out?", "The record counts, not the tag", "a new tag first", "until the new one is confirmed")
	p.Ask = field("ask-every", "Ask for the plate’s last characters once in", "At random; 0 for never. A scan proves that someone has a picture, not that the sling is there", "issues")
	p.OnePerson = choice("one-person", "Is this a crib of one person?", "", "who passed a sling does not hand it over next", "that is allowed, and marked for the keeper")
	p.Words = Choice{Name: "words", Legend: "Whose words stand on pages and paper?", Error: c["words"], Options: options(f("words"), [][3]string{
		{"rules", "As the rules", "those of the law that this crib goes by"},
		{"us", "US: choker hitch, rated load, periodic inspection", ""}, {"uk", "UK: choke hitch, WLL, thorough examination", ""}})}
	text := func(name, label, hint string) Field {
		return Field{Name: name, Label: label, Hint: hint, Value: f(name), Error: c[name], Most: maxAddress}
	}
	p.Employer = []Field{
		text("employer", "For whom slings are examined", "The employer that the report of each inspection names; LOLER schedule 1 asks for it"),
		text("employer-address", "Address", ""),
		text("premises", "Where they are examined", "Empty: at that address"),
	}
	p.Prefix = Field{Name: "prefix", Label: "Address in front of a tag’s text", Hint: "For phones that scan a tag: HTTPS://HOST/ in capitals, at most " + itoa(tagcode.MaxPrefix) + " characters; empty for none. It counts for tags drawn from now on", Value: f("prefix"), Error: c["prefix"], Most: tagcode.MaxPrefix}
}

// employer reads for whom the crib's slings are examined.
func (v *visit) employer(c complaints) event.Employer {
	line := func(name string) string {
		text, complaint := v.line(name, maxAddress)
		c.add(name, complaint)
		return text
	}
	e := event.Employer{Name: line("employer"), Address: line("employer-address"), Premises: line("premises")}
	if e.Name == "" && (e.Address != "" || e.Premises != "") {
		c.add("employer", "Type whose address this is.")
	}
	return e
}

// maxAddress is the room for a name with its address, in characters.
const maxAddress = 160

func unitWords(u quantity.Units) string {
	if u == quantity.Metric {
		return "kilograms and millimetres"
	}
	return "pounds and inches"
}

func (s *Server) setPolicy(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	heads, err := parseHeads(v.raw("heads"))
	if err != nil {
		return err
	}
	c := complaints{}
	policy := readPolicy(v.raw, c, v.crib.Founded.Units)
	policy.Employer = v.employer(c)
	if len(c) > 0 {
		return s.renderSetup(v, http.StatusUnprocessableEntity, v.raw, c, "")
	}
	err = s.Counter.SetPolicy(v.r.Context(), v.by(counter.Hand, key), heads, policy)
	switch {
	case errors.Is(err, store.ErrConflict):
		if v.crib, err = s.Store.Crib(v.r.Context()); err != nil {
			return err
		}
		return s.renderSetup(v, http.StatusConflict, policyForm(v.crib.Founded.Policy), c,
			"Changed meanwhile: someone else set the policy after your page was loaded. What you sent was not saved; below is what holds now.")
	case errors.Is(err, counter.ErrNotKeeper):
		return &Visible{Code: NotAllowed, Cause: err, Sentence: "Only a keeper changes the policy.", Next: "The people page says who is one."}
	case err != nil:
		return registerError(err)
	}
	s.notice(v, "The policy is set. It counts from now on, for every sling.")
	return v.redirect("/setup")
}

var tiltNumber = regexp.MustCompile(`^[0-9]{1,2}(?:\.[0-9]{1,3})?$`)

// readPolicy reads the form.
func readPolicy(f detailsForm, c complaints, lead quantity.Units) event.Policy {
	answers := liftForm{}
	for _, name := range []string{"strict-choke", "old-tag", "one-person", "words"} {
		answers[name] = f(name)
	}
	whole := func(name string, least, most int) int {
		n, err := strconv.Atoi(strings.TrimSpace(f(name)))
		if err != nil || n < least || n > most {
			c.add(name, "Type a whole number from "+itoa(least)+" to "+itoa(most)+".")
			return 0
		}
		return n
	}
	p := event.Policy{
		StrictChoke: pick(answers, c, "strict-choke", "Choose.", yesNos),
		MaxMonths:   whole("max-months", 1, 12),
		MarginPct:   whole("margin", 0, 1000),
		OldTagGoes:  pick(answers, c, "old-tag", "Choose.", yesNos),
		AskEvery:    whole("ask-every", 0, 1000),
		OnePerson:   pick(answers, c, "one-person", "Choose.", yesNos),
		Prefix:      strings.ToUpper(strings.TrimSpace(f("prefix"))),
		Words:       pick(answers, c, "words", "Choose.", wordLists),
		Cranes:      readCranes(f, c, lead),
	}
	tilt, complaint := readDegrees(strings.TrimSpace(f("max-tilt")))
	if complaint == "" && (tilt > 45*quantity.Degree || !tiltNumber.MatchString(strings.TrimSpace(f("max-tilt")))) {
		complaint = "Type degrees from 0 to 45."
	}
	c.add("max-tilt", complaint)
	p.MaxTilt = tilt
	if _, err := (tagcode.Sealed{}).WithPrefix(p.Prefix); err != nil {
		c.add("prefix", "A prefix has the form HTTPS://HOST/ in capitals and at most "+itoa(tagcode.MaxPrefix)+" characters.")
	}
	return p
}
