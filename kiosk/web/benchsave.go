package web

import (
	"errors"
	"maps"
	"net/http"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/bench"
)

// pageField keeps by which page a draft was changed last, so that a page that sends
// twice before it has its first answer does not stand in its own way.
const pageField = "page"

// keep saves what a form sent of one step, under the revision that it was made from.
// It gives the draft, or a sentence why it was not saved.
func (s *Server) keep(v *visit, sling state.Sling, fields map[string]string) (d bench.Draft, problem string, err error) {
	ctx, me, id := v.r.Context(), v.who.ID.String(), sling.ID.String()
	revision, parseErr := strconv.ParseInt(v.raw("revision"), 10, 64)
	if parseErr != nil {
		return bench.Draft{}, "", &Visible{Code: BadInput, Cause: parseErr, Sentence: "The form was sent without its number.", Next: "Load the page again."}
	}
	page := v.raw("key")
	fields = maps.Clone(fields)
	fields[pageField] = page
	d, err = s.Bench.Save(ctx, id, me, revision, fields)
	if stale, ok := errors.AsType[*bench.StaleError](err); ok && stale.Draft.Who == me && page != "" && stale.Draft.Fields[pageField] == page {
		d, err = s.Bench.Save(ctx, id, me, stale.Draft.Revision, fields)
	}
	if err == nil {
		return d, "", nil
	}
	names, nameErr := s.names(v)
	if nameErr != nil {
		return bench.Draft{}, "", nameErr
	}
	w := v.wordsOf(names)
	if held, ok := errors.AsType[*bench.HeldError](err); ok {
		return held.Draft, w.draftName(held.Draft) + " took this inspection over; they saved something last on " + w.clock(held.Draft.Saved) + ". What you typed since is not saved: write it down first.", nil
	}
	if stale, ok := errors.AsType[*bench.StaleError](err); ok {
		what := "This inspection was changed on another page, by " + w.draftName(stale.Draft) + " on " + w.clock(stale.Draft.Saved) + "."
		if stale.Draft.Revision == 0 {
			what = "This inspection was signed or thrown away meanwhile."
		}
		return stale.Draft, what + " What you typed since is not saved: write it down first.", nil
	}
	if errors.Is(err, bench.ErrFull) {
		return d, "There is no room for more. What you typed last is not saved.", nil
	}
	return d, "", benchError(err)
}

// stepSent is the step that a form is of, with what it sent.
func (v *visit) stepSent(s state.Sling) (step, map[string]string, error) {
	steps := stepsOf(s)
	at := slices.IndexFunc(steps, func(st step) bool { return st.name == v.raw("step") })
	if at < 0 {
		return step{}, nil, &Visible{Code: BadInput, Sentence: "The form was sent without its step.", Next: "Load the page again."}
	}
	return steps[at], v.typed(steps[at].fieldsOf(s)), nil
}

// A stepKept is a step as it was sent, and what became of it.
type stepKept struct {
	step    step
	typed   map[string]string
	draft   bench.Draft
	problem string // why it was not saved; empty where it was
}

// keepSent saves the step that a form is of.
func (s *Server) keepSent(v *visit, sling state.Sling) (sent stepKept, err error) {
	if sent.step, sent.typed, err = v.stepSent(sling); err != nil {
		return sent, err
	}
	sent.draft, sent.problem, err = s.keep(v, sling, sent.typed)
	return sent, err
}

// saveInspection saves a step and leads to the next one.
func (s *Server) saveInspection(v *visit) error {
	sling, err := s.benchSling(v)
	if err != nil {
		return err
	}
	sent, err := s.keepSent(v, sling)
	if err != nil {
		return err
	}
	if sent.problem != "" {
		return s.renderInspection(v, http.StatusConflict, sling, benchState{step: sent.step.name, typed: sent.typed, problem: sent.problem})
	}
	to := v.raw("go")
	if !slices.ContainsFunc(stepsOf(sling), func(st step) bool { return st.name == to }) {
		to = sent.step.name
	}
	return v.redirect(benchOf(sling) + "?step=" + to)
}

// benchOf is the address of the inspection of a sling.
func benchOf(s state.Sling) string { return benchPath + slingPath(s)[len("/rack"):] }

// checkInspection saves a step while it is filled in, and answers with what follows.
func (s *Server) checkInspection(v *visit) error {
	sling, err := s.benchSling(v)
	if err != nil {
		return err
	}
	sent, err := s.keepSent(v, sling)
	if err != nil {
		return err
	}
	all := maps.Clone(sent.draft.Fields)
	if all == nil {
		all = map[string]string{}
	}
	maps.Copy(all, sent.typed)
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	b := benchPage{s: s, v: v, w: w, sling: sling, fields: all, read: readSheet(sling, all, w)}
	p := &InspectionPage{Live: b.live(sent.draft)}
	p.Live.Problem, p.Live.Again = sent.problem, benchOf(sling)+"?step="+sent.step.name
	if sent.problem != "" {
		p.Live.Saved = ""
	}
	b.judge()
	p.Rows = b.rows(sent.step)
	if sent.step.name == "sign" {
		if p.Sign, err = b.sign(benchOf(sling), ""); err != nil {
			return err
		}
	}
	return s.renderPart(v, "on-bench", "bench-live", p)
}

// draftAct does something with the draft of a sling, under the revision of the page.
func (s *Server) draftAct(v *visit, do func(sling, me string, revision int64) error, done string) error {
	sling, err := s.benchSling(v)
	if err != nil {
		return err
	}
	revision, err := strconv.ParseInt(v.raw("revision"), 10, 64)
	if err != nil {
		return &Visible{Code: BadInput, Cause: err, Sentence: "The form was sent without its number.", Next: "Load the page again."}
	}
	err = do(sling.ID.String(), v.who.ID.String(), revision)
	_, held := errors.AsType[*bench.HeldError](err)
	_, stale := errors.AsType[*bench.StaleError](err)
	switch {
	case held || stale || errors.Is(err, bench.ErrNone):
		s.notice(v, "Somebody changed this inspection meanwhile, and nothing was done. Look at it again.")
	case err != nil:
		return benchError(err)
	default:
		s.notice(v, done)
	}
	if done == laidAside || done == thrownAway {
		return v.redirect(benchPath)
	}
	return v.redirect(benchOf(sling))
}

const (
	laidAside  = "Laid aside. Whoever takes it up goes on where it stands."
	thrownAway = "What was typed is thrown away. The register was not touched."
)

func (s *Server) layAside(v *visit) error {
	return s.draftAct(v, func(sling, me string, revision int64) error {
		_, err := s.Bench.LayAside(v.r.Context(), sling, me, revision)
		return err
	}, laidAside)
}

func (s *Server) takeUp(v *visit) error {
	return s.draftAct(v, func(sling, me string, revision int64) error {
		_, err := s.Bench.TakeUp(v.r.Context(), sling, me, revision)
		return err
	}, "It is yours now. Everything that was typed is here.")
}

func (s *Server) dropDraft(v *visit) error {
	return s.draftAct(v, func(sling, me string, revision int64) error {
		d, err := s.Bench.Draft(v.r.Context(), sling)
		if err != nil {
			return err
		}
		if d.HeldFrom(me) {
			return &bench.HeldError{Draft: d}
		}
		return s.Bench.Drop(v.r.Context(), sling, revision)
	}, thrownAway)
}

// maxPhotos is how many pictures one inspection has at the most (site policy, no source).
const maxPhotos = 8

// PhotoForm takes pictures of what is seen.
type PhotoForm struct {
	Path     string // empty: there is no such form here
	Revision int64
	Kept     []string // addresses
	Field    Field
	Full     string
}

func photoField(n int) string { return "photo-" + itoa(n) }

// photosOf are the pictures of a draft.
func photosOf(fields map[string]string) (list []event.Photo) {
	for n := 1; n <= maxPhotos; n++ {
		if p, err := event.ParsePhoto(fields[photoField(n)]); err == nil && p != (event.Photo{}) {
			list = append(list, p)
		}
	}
	return list
}

func (b *benchPage) photos(path string, revision int64) PhotoForm {
	f := PhotoForm{Path: path + "/photo", Revision: revision,
		Field: Field{Name: "picture", Label: "Picture of it", Hint: photoSays, Type: "file", Accept: "image/*", Error: b.wrong["picture"]}}
	for _, p := range photosOf(b.fields) {
		f.Kept = append(f.Kept, "/photo/"+p.String())
	}
	if len(f.Kept) >= maxPhotos {
		f.Full = itoa(maxPhotos) + " pictures are here; there is no room for more."
	}
	return f
}

// photographed keeps a picture with the draft.
func (s *Server) photographed(v *visit) error {
	sling, err := s.benchSling(v)
	if err != nil {
		return err
	}
	d, err := s.Bench.Draft(v.r.Context(), sling.ID.String())
	if err != nil {
		return benchError(err)
	}
	c := complaints{}
	n := len(photosOf(d.Fields))
	if d.HeldFrom(v.who.ID.String()) {
		c.add("picture", "Somebody else has this inspection.")
	}
	if n >= maxPhotos {
		c.add("picture", "There is no room for more pictures.")
	}
	photo, err := s.photo(v, "picture", c)
	if err != nil {
		return err
	}
	if photo == (event.Photo{}) && len(c) == 0 {
		c.add("picture", "Choose or take a picture first.")
	}
	if len(c) > 0 {
		return s.renderInspection(v, http.StatusUnprocessableEntity, sling, benchState{step: "seen", wrong: c})
	}
	if !slices.Contains(photosOf(d.Fields), photo) {
		_, problem, err := s.keep(v, sling, map[string]string{photoField(n + 1): photo.String()})
		if err != nil {
			return err
		}
		if problem != "" {
			return s.renderInspection(v, http.StatusConflict, sling, benchState{step: "seen", problem: problem})
		}
	}
	return v.redirect(benchOf(sling) + "?step=seen")
}
