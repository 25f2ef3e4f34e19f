package gate

import (
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

func TestReasonsAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for i, r := range Reasons() {
		if seen[r.String()] {
			t.Errorf("code %q twice", r)
		}
		seen[r.String()] = true
		back, err := ParseReason(r.String())
		if err != nil || back != r || r != Reason(i+1) {
			t.Errorf("%q reads as %d, %v; is %d", r, back, err, r)
		}
		text := r.Text(Answer{}, Speech{})
		if r.Rule(Answer{}) == source.None || !sentence(text.Sentence) || !strings.HasSuffix(text.Next, ".") || text.Rule == "" {
			t.Errorf("%s: %+v", r, text)
		}
		if r.OfGate() != (r < firstOfCounter) {
			t.Errorf("%s is of the gate: %v", r, r.OfGate())
		}
	}
	for _, bad := range []string{"", "not-decided", "Overdue", "over-due"} {
		if r, err := ParseReason(bad); err == nil || r != NotDecided {
			t.Errorf("ParseReason(%q) = %v, %v", bad, r, err)
		}
	}
	if NotDecided.OfGate() || reasonEnd.String() != "not-decided" || NotDecided.Text(Answer{}, Speech{}).Next == "" {
		t.Error("what is no reason reads as one")
	}
}

// sentence tells whether a text is one sentence.
func sentence(s string) bool {
	return len(s) > 10 && len(s) < 140 && strings.HasSuffix(s, ".") && strings.Count(s, ". ") == 0
}

// The order in which an answer names its reasons is part of the machine surface.
func TestReasonsAreInOrder(t *testing.T) {
	for i, code := range oracleOrder {
		if got := Reason(i + 1); got.String() != code {
			t.Errorf("reason %d is %q; want %q", i+1, got, code)
		}
	}
	if int(firstOfCounter) != len(oracleOrder)+1 {
		t.Errorf("%d reasons; want %d", firstOfCounter-1, len(oracleOrder))
	}
}

func TestSentencesHaveFigures(t *testing.T) {
	over := func(what OverWhat, needs, may quantity.Mass) Answer {
		return Answer{Scope: ByAngle, Over: Over{What: what, Needs: needs, May: may}}
	}
	due, err := quantity.ParseDate("2026-11-10")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		reason Reason
		answer Answer
		units  quantity.Units
		want   string
	}{
		{UnderRated, over(SlingOver, 12_868*quantity.Pound, 10_000*quantity.Pound), quantity.Imperial,
			"Too light for this lift: the lift needs 12,868 lb and this sling may carry 10,000 lb."},
		{UnderRated, over(SlingOver, 4_001*quantity.Kilogram, 4*quantity.Tonne), quantity.Metric,
			"Too light for this lift: the lift needs 4,001 kg and this sling may carry 4,000 kg."},
		{UnderRated, over(SlingOver, 4*quantity.Tonne+quantity.Gram, 4*quantity.Tonne), quantity.Metric,
			"Too light for this lift: the lift needs 4,000.001 kg and this sling may carry 4,000 kg."},
		{UnderRated, over(LegOver, 8_000*quantity.Pound, 7_100*quantity.Pound), quantity.Imperial,
			"Too light for this lift: one leg would carry 8,000 lb and may carry 7,100 lb."},
		{UnderRated, over(FittingOver, 8_000*quantity.Pound, 7_100*quantity.Pound), quantity.Imperial,
			"Too light for this lift: the lift needs 8,000 lb and the upper fitting may carry 7,100 lb."},
		{Overdue, Answer{Due: due}, quantity.Imperial, "Its thorough inspection was due on 10 Nov 2026."},
		{DueBeforeReturn, Answer{Due: due}, quantity.Imperial, "Its thorough inspection falls due on 10 Nov 2026, before it is to come back."},
		{AngleTooFlat, Answer{System: rating.US, Flattest: 29_500 * quantity.MilliDegree}, quantity.Imperial,
			"The legs would be too flat: 29.5° from horizontal, and 30° is the least."},
		{AngleTooFlat, Answer{System: rating.EN, Flattest: 29_500 * quantity.MilliDegree}, quantity.Metric,
			"The legs would be too flat: 60.5° from vertical, and 60° is the most."},
		{WouldTilt, Answer{Tilt: 7_250 * quantity.MilliDegree}, quantity.Metric, "The load would hang 7.25° from level, which is too far."},
	} {
		text := tt.reason.Text(tt.answer, Speech{Units: tt.units})
		if text.Sentence != tt.want || !sentence(text.Sentence) {
			t.Errorf("%s reads %q; want %q", tt.reason, text.Sentence, tt.want)
		}
	}
}

// The rule is the one of the sling's own system and grade.
func TestRulesOfTheSling(t *testing.T) {
	for _, tt := range []struct {
		reason Reason
		system rating.System
		grade  rating.Grade
		want   source.Clause
	}{
		{AngleTooFlat, rating.US, rating.Grade80, source.NoFlatterUS},
		{AngleTooFlat, rating.EN, rating.Grade80, source.NoFlatterEN},
		{TooHot, rating.US, rating.Grade100, source.ScrapUS},
		{TooHot, rating.US, rating.Grade120, source.HeatGrade120},
		{TooHot, rating.EN, rating.Grade80, source.HeatGrade8},
		{TooHot, rating.EN, rating.Grade100, source.HeatGrade10},
		{HeatScrapped, rating.US, rating.Grade80, source.ScrapUS},
		{HeatScrapped, rating.US, rating.Grade120, source.HeatGrade120},
		{HeatScrapped, rating.EN, rating.Grade120, source.HeatGrade8},
		{TooCold, rating.US, rating.Grade80, source.ColdGrade80},
		{TooCold, rating.EN, rating.Grade100, source.ColdGrade100},
		{Overdue, rating.EN, rating.Grade100, source.TwelveMonths},
	} {
		a := Answer{System: tt.system, Grade: tt.grade}
		if got := tt.reason.Rule(a); got != tt.want || tt.reason.Text(a, Speech{Units: quantity.Metric}).InFull != tt.want.String() {
			t.Errorf("%s of %s %d: %s; want %s", tt.reason, tt.system, tt.grade, got.Key(), tt.want.Key())
		}
	}
}

// Whatever is refused as too light says by how much.
func TestUnderRatedAlwaysSaysWhy(t *testing.T) {
	found := 0
	for _, line := range readLines(t, "testdata/decide.questions.jsonl") {
		q, err := ParseQuestion(line)
		if err != nil {
			continue
		}
		a, err := Decide(q)
		if err != nil {
			continue
		}
		under := len(a.Reasons) > 0 && a.Reasons[len(a.Reasons)-1] == UnderRated
		if under != (a.Over.What != NothingOver) || under && a.Over.Needs <= a.Over.May {
			t.Errorf("%s: %v, %+v", q.ID, a.Reasons, a.Over)
		}
		if under {
			found++
		}
	}
	if found < 30 {
		t.Errorf("only %d were too light", found)
	}
}

// twoLegs asks for 12,000 lb on two legs at 52° from horizontal of a 3/8 in grade
// 80 sling, which is read in the 45° row (US OSHA, Guidance on Safe Sling Use,
// table 1: 10,000 lb).
func twoLegs(t *testing.T) Question {
	t.Helper()
	size, err := rating.ParseSize(rating.US, "3/8")
	if err != nil {
		t.Fatal(err)
	}
	now, err := quantity.ParseDate("2026-03-02")
	if err != nil {
		t.Fatal(err)
	}
	return Question{ID: "q", Now: now, Policy: DefaultPolicy(),
		Sling: Sling{
			Plate: rating.Plate{System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12_300 * quantity.Pound}}},
			RatingTag: TagLegible, State: StateIn, Inspected: now, Due: now.AddMonths(12),
		},
		Lift: &Lift{Use: UseOrdinary, Load: 12_000 * quantity.Pound, Hitch: Straight, Legs: 2, Centred: true,
			Angle: &Angle{From: FromHorizontal, Size: 52 * quantity.Degree}},
	}
}

func TestUnderRatedNamesTheRowItWasRatedBy(t *testing.T) {
	a, err := Decide(twoLegs(t))
	if err != nil {
		t.Fatal(err)
	}
	text := UnderRated.Text(a, Speech{})
	want := "Rated for two legs, 45° from horizontal: " + source.OSHATable1.String()
	if text.InFull != want || text.Rule != "Rated for two legs, 45° from horizontal: OSHA sling guide, table 1" {
		t.Errorf("rule %q, in full %q, want %q", text.Rule, text.InFull, want)
	}
}

// Where the upper fitting sets the allowance, the reason and the working name it,
// and the table where the legs do: at the cell itself, 10,000 lb, they still do.
func TestUnderRatedNamesTheUpperFitting(t *testing.T) {
	for _, tt := range []struct {
		master quantity.Mass
		what   OverWhat
		rule   source.Clause
	}{
		{10_001 * quantity.Pound, SlingOver, source.OSHATable1},
		{10_000 * quantity.Pound, SlingOver, source.OSHATable1},
		{9_999 * quantity.Pound, FittingOver, source.UpperFitting},
	} {
		q := twoLegs(t)
		q.Sling.Master = tt.master
		a, err := Explain(q)
		if err != nil {
			t.Fatal(err)
		}
		last := a.Working[len(a.Working)-1]
		if a.Over.What != tt.what || UnderRated.Rule(a) != tt.rule || last.Source != tt.rule {
			t.Errorf("master %s: %+v, the working ends by %s", tt.master.InPounds(), a.Over, last.Source.Key())
		}
	}
	q := twoLegs(t)
	q.Sling.Master = 9_000 * quantity.Pound
	a, err := Decide(q)
	if err != nil {
		t.Fatal(err)
	}
	want := "Too light for this lift: the lift needs 12,000 lb and the upper fitting may carry 9,000 lb."
	if text := UnderRated.Text(a, Speech{}); text.Sentence != want || text.InFull != source.UpperFitting.String() {
		t.Errorf("%q by %q", text.Sentence, text.Rule)
	}
}

// Steeper legs are advised only where they would be rated for more.
func TestSteeperLegsAreAdvisedWhereTheyHelp(t *testing.T) {
	const alone, steeper = "Take a stronger sling.", "Take a stronger sling, or make the legs steeper."
	for _, tt := range []struct {
		over Over
		want string
	}{
		{Over{What: SlingOver, Legs: 1, Basis: rating.Vertical}, alone},
		{Over{What: SlingOver, Legs: 2, Basis: rating.H60}, alone},
		{Over{What: SlingOver, Legs: 2, Basis: rating.H45}, steeper},
		{Over{What: SlingOver, Legs: 3, Basis: rating.H30}, steeper},
		{Over{What: SlingOver, Legs: 4, Basis: rating.B45}, alone},
		{Over{What: SlingOver, Legs: 2, Basis: rating.B60}, steeper},
		{Over{What: FittingOver}, alone},
		{Over{What: LegOver}, steeper},
		{Over{}, steeper},
	} {
		if got := UnderRated.Text(Answer{Over: tt.over}, Speech{}).Next; got != tt.want {
			t.Errorf("%+v: %q, want %q", tt.over, got, tt.want)
		}
	}
}
