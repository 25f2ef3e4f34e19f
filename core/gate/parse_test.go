package gate

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"cribgate/core/bounded"
	"cribgate/core/quantity"
	"cribgate/core/strict"

	"pgregory.net/rapid"
)

const goodLine = `{"id":"q","now":"2026-03-02","policy":{"angles":"bands","choke":"listed","max_months":12,"max_tilt_mdeg":5000},` +
	`"sling":{"system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"adjustable":false,` +
	`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"chart_g":null,"weakest_g":null,"master_g":null,"hottest_c":null,` +
	`"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"},` +
	`"lift":{"use":"ordinary","load_g":4000000,"margin_pct":0,"hitch":"straight","legs":2,"singles":false,` +
	`"angle":{"from":"horizontal","mdeg":50000},"centred":true,"shortened":null,"temp_c":20,"edge_radius_mm":null,"choke_mdeg":null,"return_by":"2026-03-04"}}`

const picksLine = `{"id":"q","now":"2026-03-02","sling":{"system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,` +
	`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"},` +
	`"lift":{"load_g":4000000,"legs":2,"hitch":"straight","picks":[{"x_mm":-900,"y_mm":0,"z_mm":0},{"x_mm":900,"y_mm":0,"z_mm":0}],` +
	`"cg":{"x_mm":0,"y_mm":0,"z_mm":-400},"hook_mm":null,"hook_max_mm":3000}}`

// change replaces text that must be there once.
func change(t testing.TB, line string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if strings.Count(line, pairs[i]) != 1 {
			t.Fatalf("%q stands %d times in %s", pairs[i], strings.Count(line, pairs[i]), line)
		}
		line = strings.Replace(line, pairs[i], pairs[i+1], 1)
	}
	return line
}

// One row per thing that makes a line an error. Every row differs from a line
// that is answered by just that.
func TestBadLines(t *testing.T) {
	for _, line := range []string{goodLine, picksLine} {
		if w, err := answerLine(t, []byte(line)); err != nil || w.Verdict != "issue" {
			t.Fatalf("%s\n%v %v", line, w, err)
		}
	}
	for _, tt := range []struct {
		why   string
		from  string
		pairs []string
	}{
		{"id missing", goodLine, []string{`"id":"q",`, ``}},
		{"id no string", goodLine, []string{`"id":"q"`, `"id":7`}},
		{"now missing", goodLine, []string{`"now":"2026-03-02",`, ``}},
		{"now null", goodLine, []string{`"now":"2026-03-02"`, `"now":null`}},
		{"now no date", goodLine, []string{`"now":"2026-03-02"`, `"now":"2026-02-29"`}},
		{"now in year 0", goodLine, []string{`"now":"2026-03-02"`, `"now":"0000-03-02"`}},
		{"sling missing", goodLine, []string{`"sling":{`, `"slings":{`}},
		{"unknown name at the top", goodLine, []string{`"id":"q"`, `"id":"q","x":null`}},
		{"unknown name in the policy", goodLine, []string{`"angles":"bands"`, `"angels":"bands"`}},
		{"unknown name in the sling", goodLine, []string{`"grade":80`, `"grade":80,"load_g":1`}},
		{"unknown name in the lift", goodLine, []string{`"load_g":4000000`, `"load_kg":4000`}},
		{"unknown name in the angle", goodLine, []string{`"mdeg":50000`, `"mdeg":50000,"deg":50`}},
		{"unknown name in a stamp", goodLine, []string{`"basis":"h60"`, `"basis":"h60","angle":60`}},
		{"unknown name in a pick", picksLine, []string{`{"x_mm":900,`, `{"x_mm":900,"x":1,`}},
		{"name in capitals", goodLine, []string{`"load_g":4000000`, `"LOAD_G":4000000`}},
		{"name twice", goodLine, []string{`"grade":80`, `"grade":80,"grade":80`}},
		{"text after the object", goodLine, []string{`"id":"q"`, `"id":"q"}{"id":"q"`}},
		{"a fraction", goodLine, []string{`"load_g":4000000`, `"load_g":4000000.0`}},
		{"an exponent", goodLine, []string{`"load_g":4000000`, `"load_g":4e6`}},
		{"a number as text", goodLine, []string{`"load_g":4000000`, `"load_g":"4000000"`}},
		{"load missing", goodLine, []string{`"load_g":4000000,`, ``}},
		{"load null", goodLine, []string{`"load_g":4000000`, `"load_g":null`}},
		{"load twice, in grams and pounds", goodLine, []string{`"load_g":4000000`, `"load_g":4000000,"load_lb":1`}},
		{"load of nothing", goodLine, []string{`"load_g":4000000`, `"load_g":0`}},
		{"load below nothing", goodLine, []string{`"load_g":4000000`, `"load_lb":-1`}},
		{"load over 10^12 g", goodLine, []string{`"load_g":4000000`, `"load_g":1000000000001`}},
		{"load over 10^12 g in pounds", goodLine, []string{`"load_g":4000000`, `"load_lb":2204622622`}},
		{"load that overflows", goodLine, []string{`"load_g":4000000`, `"load_lb":9223372036854775807`}},
		{"load beyond 64 bits", goodLine, []string{`"load_g":4000000`, `"load_g":92233720368547758070`}},
		{"margin over 1000", goodLine, []string{`"margin_pct":0`, `"margin_pct":1001`}},
		{"margin below 0", goodLine, []string{`"margin_pct":0`, `"margin_pct":-1`}},
		{"lift legs missing", goodLine, []string{`"hitch":"straight","legs":2,`, `"hitch":"straight",`}},
		{"five legs", goodLine, []string{`"hitch":"straight","legs":2`, `"hitch":"straight","legs":5`}},
		{"no legs", goodLine, []string{`"hitch":"straight","legs":2`, `"hitch":"straight","legs":0`}},
		{"unknown hitch", goodLine, []string{`"hitch":"straight"`, `"hitch":"choked"`}},
		{"unknown use", goodLine, []string{`"use":"ordinary"`, `"use":"man"`}},
		{"unknown reference", goodLine, []string{`"from":"horizontal"`, `"from":"level"`}},
		{"angle without its reference", goodLine, []string{`"from":"horizontal",`, ``}},
		{"angle without its size", goodLine, []string{`,"mdeg":50000`, ``}},
		{"angle of 0", goodLine, []string{`"mdeg":50000`, `"mdeg":0`}},
		{"angle over 90°", goodLine, []string{`"mdeg":50000`, `"mdeg":90001`}},
		{"90° from vertical", goodLine, []string{`"from":"horizontal","mdeg":50000`, `"from":"vertical","mdeg":90000`}},
		{"180° between", goodLine, []string{`"from":"horizontal","mdeg":50000`, `"from":"between","mdeg":180000`}},
		{"between for three legs", goodLine, []string{`"from":"horizontal"`, `"from":"between"`, `"hitch":"straight","legs":2`, `"hitch":"straight","legs":3`}},
		{"between for a basket of two", goodLine, []string{`"from":"horizontal"`, `"from":"between"`, `"hitch":"straight"`, `"hitch":"basket"`}},
		{"angle for one straight leg", goodLine, []string{`"hitch":"straight","legs":2`, `"hitch":"straight","legs":1`}},
		{"angle for one choked leg", goodLine, []string{`"hitch":"straight","legs":2`, `"hitch":"choke","legs":1`}},
		{"centred no truth", goodLine, []string{`"centred":true`, `"centred":1`}},
		{"shortened, not adjustable", goodLine, []string{`"shortened":null`, `"shortened":"cradled"`}},
		{"unknown shortening", goodLine, []string{`"shortened":null`, `"shortened":"knot"`, `"adjustable":false`, `"adjustable":true`}},
		{"singles of a sling of two legs", goodLine, []string{`"singles":false`, `"singles":true`}},
		{"too cold to be", goodLine, []string{`"temp_c":20`, `"temp_c":-274`}},
		{"too cold to be, °F", goodLine, []string{`"temp_c":20`, `"temp_f":-460`}},
		{"too hot to be", goodLine, []string{`"temp_c":20`, `"temp_c":2001`}},
		{"too hot to be, °F", goodLine, []string{`"temp_c":20`, `"temp_f":3633`}},
		{"temperature twice", goodLine, []string{`"temp_c":20`, `"temp_c":20,"temp_f":68`}},
		{"radius below 0", goodLine, []string{`"edge_radius_mm":null`, `"edge_radius_mm":-1`}},
		{"radius too large", goodLine, []string{`"edge_radius_mm":null`, `"edge_radius_mm":1000001`}},
		{"choke over 180°, without a choke", goodLine, []string{`"choke_mdeg":null`, `"choke_mdeg":180001`}},
		{"choke below 0°", goodLine, []string{`"choke_mdeg":null`, `"choke_mdeg":-1`}},
		{"return before now", goodLine, []string{`"return_by":"2026-03-04"`, `"return_by":"2026-03-01"`}},
		{"return no date", goodLine, []string{`"return_by":"2026-03-04"`, `"return_by":"4 March"`}},
		{"unknown angles", goodLine, []string{`"bands"`, `"exact"`}},
		{"unknown choke", goodLine, []string{`"listed"`, `"loose"`}},
		{"no months", goodLine, []string{`"max_months":12`, `"max_months":0`}},
		{"13 months", goodLine, []string{`"max_months":12`, `"max_months":13`}},
		{"tilt over 45°", goodLine, []string{`"max_tilt_mdeg":5000`, `"max_tilt_mdeg":45001`}},
		{"tilt below 0°", goodLine, []string{`"max_tilt_mdeg":5000`, `"max_tilt_mdeg":-1`}},
		{"system missing", goodLine, []string{`"system":"us",`, ``}},
		{"unknown system", goodLine, []string{`"system":"us"`, `"system":"uk"`}},
		{"unknown grade", goodLine, []string{`"grade":80`, `"grade":81`}},
		{"grade 10", goodLine, []string{`"grade":80`, `"grade":10`}},
		{"size missing", goodLine, []string{`"size":"3/8",`, ``}},
		{"size of the other system", goodLine, []string{`"size":"3/8"`, `"size":"10"`}},
		{"size as a number", goodLine, []string{`"size":"3/8"`, `"size":1`}},
		{"stamped missing", goodLine, []string{`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],`, ``}},
		{"stamped no list", goodLine, []string{`[{"legs":2,"basis":"h60","load_lb":12300}]`, `{"legs":2,"basis":"h60","load_lb":12300}`}},
		{"stamp for more legs", goodLine, []string{`[{"legs":2,`, `[{"legs":3,`}},
		{"stamp of EN", goodLine, []string{`"basis":"h60"`, `"basis":"b45"`}},
		{"stamp of one leg at an angle", goodLine, []string{`[{"legs":2,`, `[{"legs":1,`}},
		{"stamp of two legs, vertical", goodLine, []string{`"basis":"h60"`, `"basis":"vertical"`}},
		{"stamp without a load", goodLine, []string{`,"load_lb":12300`, ``}},
		{"stamp twice, in grams and pounds", goodLine, []string{`"load_lb":12300`, `"load_lb":12300,"load_g":1`}},
		{"reach of 0", goodLine, []string{`"reach_mm":2400`, `"reach_mm":0`}},
		{"reach too long", goodLine, []string{`"reach_mm":2400`, `"reach_mm":1000001`}},
		{"chart twice", goodLine, []string{`"chart_g":null`, `"chart_g":1000,"chart_lb":3`}},
		{"weakest of nothing", goodLine, []string{`"weakest_g":null`, `"weakest_g":0`}},
		{"hottest twice", goodLine, []string{`"hottest_c":null`, `"hottest_c":1,"hottest_f":1`}},
		{"rating tag missing", goodLine, []string{`"rating_tag":"legible",`, ``}},
		{"unknown rating tag", goodLine, []string{`"legible"`, `"good"`}},
		{"state missing", goodLine, []string{`"state":"in",`, ``}},
		{"unknown state", goodLine, []string{`"state":"in"`, `"state":"here"`}},
		{"due no date", goodLine, []string{`"due":"2026-11-10"`, `"due":"2026-11"`}},
		{"cg without picks", goodLine, []string{`"centred":true`, `"cg":{"x_mm":0,"y_mm":0,"z_mm":0}`}},
		{"hook without picks", goodLine, []string{`"centred":true`, `"hook_mm":100`}},
		{"highest hook without picks", goodLine, []string{`"centred":true`, `"hook_max_mm":100`}},
		{"picks beside an angle", picksLine, []string{`"hook_mm":null`, `"angle":{"from":"horizontal","mdeg":60000}`}},
		{"picks without cg", picksLine, []string{`"cg":{"x_mm":0,"y_mm":0,"z_mm":-400},`, ``}},
		{"cg without z", picksLine, []string{`,"z_mm":-400`, ``}},
		{"pick without y", picksLine, []string{`{"x_mm":-900,"y_mm":0,`, `{"x_mm":-900,`}},
		{"pick far away", picksLine, []string{`{"x_mm":-900,`, `{"x_mm":-1000001,`}},
		{"picks without reach", picksLine, []string{`"reach_mm":2400,`, ``}},
		{"picks for other legs", picksLine, []string{`"load_g":4000000,"legs":2`, `"load_g":4000000,"legs":3`}},
		{"no picks in the list", picksLine, []string{`[{"x_mm":-900,"y_mm":0,"z_mm":0},{"x_mm":900,"y_mm":0,"z_mm":0}]`, `[]`}},
		{"one pick for one leg", picksLine, []string{`{"x_mm":-900,"y_mm":0,"z_mm":0},`, ``, `"load_g":4000000,"legs":2`, `"load_g":4000000,"legs":1`}},
		{"picks of a choke", picksLine, []string{`"hitch":"straight"`, `"hitch":"choke"`}},
		{"hook height far away", picksLine, []string{`"hook_mm":null`, `"hook_mm":1000001`}},
		{"singles in a basket", goodLine, []string{`[{"legs":2,"basis":"h60","load_lb":12300}]`, `[]`, `"size":"3/8","legs":2`, `"size":"3/8","legs":1`,
			`"singles":false`, `"singles":true`, `"hitch":"straight","legs":2`, `"hitch":"basket","legs":1`}},
	} {
		line := change(t, tt.from, tt.pairs...)
		w, err := answerLine(t, []byte(line))
		id, _ := strict.LineID([]byte(line))
		if err == nil || *w.ID != id {
			t.Errorf("%s: %+v, %v\n %s", tt.why, w, err, line)
		}
	}
}

// What a line may leave out, and what is ignored though it is read.
func TestLinesThatAreAnswered(t *testing.T) {
	for _, tt := range []struct {
		why   string
		from  string
		pairs []string
		want  string
	}{
		{"policy null", goodLine, []string{`{"angles":"bands","choke":"listed","max_months":12,"max_tilt_mdeg":5000}`, `null`}, "issue"},
		{"hitch null", goodLine, []string{`"hitch":"straight"`, `"hitch":null`}, "issue"},
		{"not centred is half", goodLine, []string{`"centred":true`, `"centred":null`}, "refuse"},
		{"load in pounds beside null grams", goodLine, []string{`"load_g":4000000`, `"load_g":null,"load_lb":8800`}, "issue"},
		{"angle of choke without a choke", goodLine, []string{`"choke_mdeg":null`, `"choke_mdeg":10`}, "issue"},
		{"between 90° for two legs", goodLine, []string{`"from":"horizontal","mdeg":50000`, `"from":"between","mdeg":90000`}, "issue"},
		{"largest load", goodLine, []string{`"load_g":4000000`, `"load_g":1000000000000`}, "refuse"},
		{"largest load in pounds", goodLine, []string{`"load_g":4000000`, `"load_lb":2204622621`}, "refuse"},
		{"hook height of fixed legs", picksLine, []string{`"hook_mm":null`, `"hook_mm":1`}, "issue"},
		{"centred beside picks", picksLine, []string{`"hook_mm":null`, `"centred":false`}, "issue"},
		{"return today", goodLine, []string{`"return_by":"2026-03-04"`, `"return_by":"2026-03-02"`}, "issue"},
		{"due in the last year there is", goodLine, []string{`"inspected":"2025-11-10","due":"2026-11-10"`, `"inspected":"9999-11-10","due":"9999-12-31"`}, "refuse"},
		{"id of any text", goodLine, []string{`"id":"q"`, `"id":"\u0000 \" ☃"`}, "issue"},
		{"space around it", goodLine, []string{`{"id":"q"`, " \t{ \"id\" : \"q\""}, "issue"},
	} {
		line := change(t, tt.from, tt.pairs...)
		if w, err := answerLine(t, []byte(line)); err != nil || w.Verdict != tt.want {
			t.Errorf("%s: %+v, %v; want %s\n %s", tt.why, w, err, tt.want, line)
		}
	}
	for _, line := range []string{"", "null", "[]", "7", `"x"`, "{", "\xff", `{"id":"a","id":"b"}`} {
		if q, err := ParseQuestion([]byte(line)); err == nil || !reflect.DeepEqual(q, Question{}) {
			t.Errorf("ParseQuestion(%q) = %+v, %v", line, q, err)
		}
	}
}

// readsBack writes a question and reads it again.
func readsBack(t interface{ Fatalf(string, ...any) }, q Question) {
	line, err := q.MarshalJSON()
	if err != nil {
		t.Fatalf("write %+v: %v", q, err)
	}
	back, err := ParseQuestion(line)
	if err != nil || !reflect.DeepEqual(back, q) {
		t.Fatalf("%s reads as\n %+v, %v; was\n %+v", line, back, err, q)
	}
}

func TestQuestionsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := maker{rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))}
		line, err := json.Marshal(m.question())
		if err != nil {
			t.Fatalf("%v", err)
		}
		q, err := ParseQuestion(line)
		if err != nil {
			return // contradicts
		}
		readsBack(t, q)
	})
}

// A sling alone, among names of its caller, as events and print lines hold it.
func TestSlingReadsBackAmongOtherNames(t *testing.T) {
	q, err := ParseQuestion([]byte(goodLine))
	if err != nil {
		t.Fatal(err)
	}
	hottest := quantity.Fahrenheit(401)
	q.Sling.Hottest, q.Sling.Master = &hottest, 12_300*quantity.Pound
	var w strict.Writer
	w.Begin()
	q.Sling.Write(&w, "sling")
	w.Str("place", "A3")
	w.End()
	text, err := w.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	v, err := strict.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	o := strict.Open("event", v)
	back := ReadSling(o.Obj("sling"))
	if place := o.Str("place"); place != "A3" || o.Done() != nil || !reflect.DeepEqual(back, q.Sling) {
		t.Errorf("%s reads as %+v, %v", text, back, o.Done())
	}
}

// What no line can carry is not decided either, so that a stored question is
// always the one that was answered.
func TestUnspeakableFigures(t *testing.T) {
	for _, tt := range []struct {
		field string
		spoil func(*Question)
	}{
		{"lift.load", func(q *Question) { q.Lift.Load++ }},
		{"lift.edge_radius", func(q *Question) { r := 12_700 * quantity.Micrometre; q.Lift.Edge = &r }},
		{"lift.choke", func(q *Question) { a := quantity.Angle(241_001); q.Lift.Choke = &a }},
		{"lift.temp", func(q *Question) { h := quantity.Temperature(1); q.Lift.Heat = &h }},
		{"lift.angle", func(q *Question) { q.Lift.Angle.Size++ }},
		{"sling.hottest", func(q *Question) { h := quantity.Temperature(1); q.Sling.Hottest = &h }},
		{"sling.reach", func(q *Question) { q.Sling.Reach++ }},
		{"sling.stamped", func(q *Question) { q.Sling.Stamped[0].Load++ }},
		{"sling.master", func(q *Question) { q.Sling.Master = 1 }},
		{"policy.max_tilt", func(q *Question) { q.Policy.MaxTilt++ }},
	} {
		q, err := ParseQuestion([]byte(goodLine))
		if err != nil {
			t.Fatal(err)
		}
		tt.spoil(&q)
		a, err := Decide(q)
		var e *QuestionError
		if !errors.As(err, &e) || e.Field != tt.field || a.May() {
			t.Errorf("%s spoiled: %v, %v", tt.field, a, err)
		}
		if line, err := q.MarshalJSON(); err == nil {
			t.Errorf("%s spoiled, and yet written: %s", tt.field, line)
		}
	}
}

const fuzzSeeds = 250 + 2 + 9

func FuzzParseQuestion(f *testing.F) {
	seeds := append(readLines(f, "testdata/decide.questions.jsonl"), []byte(goodLine), []byte(picksLine))
	for _, line := range []string{"", "null", "{}", `{"id":"x"}`, `{"id":7}`, "\xff\xfe", `{"id":"a","id":"b"}`,
		strings.Repeat("[", 100), goodLine + goodLine} {
		seeds = append(seeds, []byte(line))
	}
	if len(seeds) != fuzzSeeds {
		f.Fatalf("%d seeds; want %d", len(seeds), fuzzSeeds)
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			q, err := ParseQuestion(line)
			if err != nil {
				if !reflect.DeepEqual(q, Question{ID: q.ID}) {
					t.Fatalf("an error leaves %+v", q)
				}
				return
			}
			readsBack(t, q)
			a, err := Decide(q)
			if err != nil {
				if a.May() || a.ID != q.ID {
					t.Fatalf("an error leaves %+v", a)
				}
				return
			}
			if a.May() != (len(a.Reasons) == 0) {
				t.Fatalf("%+v may go: %v", a, a.May())
			}
			if _, err := a.MarshalJSON(); err != nil {
				t.Fatal(err)
			}
		})
	})
}

func TestWordsReadBack(t *testing.T) {
	check := func(what, text string, err error, same bool) {
		if err != nil || !same || text == "" {
			t.Errorf("%s %q: %v, %v", what, text, err, same)
		}
	}
	for s := StateIn; s <= StateLost; s++ {
		got, err := ParseState(s.String())
		check("state", s.String(), err, got == s)
	}
	for r := TagLegible; r <= TagMissing; r++ {
		got, err := ParseRatingTag(r.String())
		check("rating tag", r.String(), err, got == r)
	}
	for u := UseOrdinary; u <= UseOther; u++ {
		got, err := ParseUse(u.String())
		check("use", u.String(), err, got == u)
	}
	for h := Straight; h <= Basket; h++ {
		got, err := ParseHitch(h.String())
		check("hitch", h.String(), err, got == h)
	}
	for r := FromHorizontal; r <= BetweenLegs; r++ {
		got, err := ParseReference(r.String())
		check("reference", r.String(), err, got == r)
	}
	for _, s := range []Shortening{Cradled, Plain} {
		got, err := ParseShortening(s.String())
		check("shortening", s.String(), err, got == s)
	}
	if s, err := ParseState(""); err == nil || s != 0 {
		t.Errorf("no state reads as %v", s)
	}
	if State(99).String() != "" || RatingTag(0).String() != "" {
		t.Error("what is not known has a word")
	}
}
