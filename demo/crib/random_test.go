package crib_test

import (
	"bytes"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/demo/crib"
	"cribgate/store"
)

// A made-up register is one like every other: the chain is whole, the present
// follows from the log, and each answer that it keeps is what the gate says to
// the question that it keeps.
func TestRandomCribs(t *testing.T) {
	chance := chance(t, "TestRandomCribs")
	for range *rounds {
		o := crib.Options{Slings: 1 + chance.IntN(150), Years: 1 + chance.IntN(2), Seed: chance.Uint64(), Last: last(t).AddDays(chance.IntN(1000))}
		if chance.IntN(2) == 0 {
			o.Events = o.Slings * (10 + chance.IntN(40))
		}
		t.Logf("%d slings, %d years to %s, %d events, seed %d", o.Slings, o.Years, o.Last, o.Events, o.Seed)
		st := open(t, build(t, o).Dir)
		report, err := st.Verify(t.Context(), nil)
		if err != nil || !report.Whole() {
			t.Fatalf("verify: %+v, %v", report.Breaks, err)
		}
		before := dump(t, st)
		if err := st.Rebuild(t.Context()); err != nil {
			t.Fatal(err)
		}
		if after := dump(t, st); !bytes.Equal(before, after) {
			t.Fatal("the present made again differs from the one kept")
		}
		decideAgain(t, st)
	}
}

func dump(t testing.TB, st *store.Store) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := st.Dump(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	if b.Len() == 0 {
		t.Fatal("the dump is empty")
	}
	return b.Bytes()
}

// decideAgain puts every question that was kept to the gate once more.
func decideAgain(t testing.TB, st *store.Store) {
	t.Helper()
	asked, refused := 0, 0
	for _, r := range all(t, st) {
		var v event.Verdict
		switch b := r.Body.(type) {
		case event.Issued:
			v = b.Verdict
		case event.Refused:
			v = b.Verdict
			refused++
		default:
			continue
		}
		asked++
		q, err := gate.ParseQuestion([]byte(v.Question))
		if err != nil {
			t.Fatalf("position %d: %v", r.Envelope.At, err)
		}
		a, err := gate.Decide(q)
		if err != nil {
			t.Fatalf("position %d: %v", r.Envelope.At, err)
		}
		line, err := a.MarshalJSON()
		if err != nil {
			t.Fatalf("position %d: %v", r.Envelope.At, err)
		}
		if string(line) != v.Answer || v.Edition != gate.RulesEdition {
			t.Errorf("position %d: kept %s, now %s", r.Envelope.At, v.Answer, line)
		}
		if _, issued := r.Body.(event.Issued); issued && !a.May() {
			t.Errorf("position %d: went out against %v", r.Envelope.At, a.Reasons)
		}
		if q.Now != r.Envelope.Day {
			t.Errorf("position %d: asked for %s on %s", r.Envelope.At, q.Now, r.Envelope.Day)
		}
	}
	t.Logf("%d questions decided again, %d of them refused", asked, refused)
}

// BenchmarkBuild reports events a second in bulk.
func BenchmarkBuild(b *testing.B) {
	events := int64(0)
	for b.Loop() {
		dir := b.TempDir()
		built, err := crib.Build(b.Context(), crib.Options{Dir: dir, Slings: 2500, Years: 1, Seed: 1, Events: 50_000, Last: last(b)})
		if err != nil {
			b.Fatal(err)
		}
		events += built.Events
	}
	b.ReportMetric(float64(events)/b.Elapsed().Seconds(), "events/s")
}
