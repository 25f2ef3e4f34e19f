package removal

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"cribgate/core/bounded"
	"cribgate/core/strict"
)

func lines(t testing.TB, name string) [][]byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return bytes.Split(bytes.TrimSuffix(text, []byte("\n")), []byte("\n"))
}

// answer is the line that the machine surface would print.
func answer(t testing.TB, line []byte) map[string]any {
	t.Helper()
	q, err := ParseQuestion(line)
	if err == nil {
		var a Answer
		if a, err = Assess(q); err == nil {
			text, err := a.MarshalJSON()
			if err != nil {
				t.Fatal(err)
			}
			m := map[string]any{}
			if err := json.Unmarshal(text, &m); err != nil {
				t.Fatal(err)
			}
			return m
		}
		if a.Verdict == Fit || a.Findings != nil {
			t.Fatalf("%s: an error with the verdict %s", line, a.Verdict)
		}
	}
	id, ok := strict.LineID(line)
	if q.ID != id {
		t.Fatalf("%s: the failed question carries id %q, its line has %q", line, q.ID, id)
	}
	if !ok {
		return map[string]any{"id": nil, "error": err.Error()}
	}
	return map[string]any{"id": id, "error": err.Error()}
}

func check(t *testing.T, question, want []byte) {
	t.Helper()
	w := map[string]any{}
	if err := json.Unmarshal(want, &w); err != nil {
		t.Fatal(err)
	}
	got := answer(t, question)
	if _, ok := w["error"]; ok {
		if _, failed := got["error"]; !failed || got["id"] != w["id"] {
			t.Errorf("%s\n got %v\nwant %s", question, got, want)
		}
		return
	}
	if !reflect.DeepEqual(got, w) {
		t.Errorf("%s\n got %v\nwant %s", question, got, want)
	}
}

// The answers come from an independent program.
func TestIndependentAnswers(t *testing.T) {
	questions, answers := lines(t, "assess.questions.jsonl"), lines(t, "assess.answers.jsonl")
	if len(questions) != 150 || len(answers) != 150 {
		t.Fatalf("%d questions, %d answers", len(questions), len(answers))
	}
	for i, q := range questions {
		check(t, q, answers[i])
	}
}

// Each case names its published source and what it stands for.
func TestPublishedAnswers(t *testing.T) {
	published := lines(t, "published.jsonl")
	if len(published) != 72 {
		t.Fatalf("%d cases", len(published))
	}
	for _, line := range published {
		var c struct {
			Question, Answer json.RawMessage
			Source, Why      string
		}
		if err := json.Unmarshal(line, &c); err != nil || c.Source == "" || c.Why == "" {
			t.Fatalf("%s: %v", line, err)
		}
		check(t, c.Question, c.Answer)
	}
}

const wholeLine = `{"id":"m1","rules":"us","sling":{"grade":80,"size":"3/8","legs":2},` +
	`"found":{"links":[{"leg":1,"at":4,"d1_um":9400,"d2_um":9300},{"leg":2,"at":4,"d1_um":9500,"d2_um":9500}],` +
	`"runs":[{"leg":1,"links":11,"new_um":330000,"length_um":331200},{"leg":2,"links":11,"new_um":330000,"length_um":330300}],` +
	`"hooks":[{"leg":1,"throat_new_um":28000,"throat_um":28600,"twist_mdeg":0,"section_new_um":20000,"section_um":19400,"latch":"good"},` +
	`{"leg":2,"throat_new_um":28000,"throat_um":28000,"twist_mdeg":0,"section_new_um":20000,"section_um":19800,"latch":"good"}],` +
	`"parts":[{"what":"master","leg":null,"new_um":16000,"thinnest_um":15800}],"seen":[]}}`

// replaced is wholeLine with one text put for another, which must be in it.
func replaced(t *testing.T, old, new string) []byte {
	t.Helper()
	if !bytes.Contains([]byte(wholeLine), []byte(old)) {
		t.Fatalf("%q is not in the line", old)
	}
	return bytes.Replace([]byte(wholeLine), []byte(old), []byte(new), 1)
}

func TestWholeLineFits(t *testing.T) {
	got := answer(t, []byte(wholeLine))
	if !reflect.DeepEqual(got, map[string]any{"id": "m1", "verdict": "fit", "findings": []any{}}) {
		t.Errorf("got %v", got)
	}
}

// Whatever is left out, null, of another type or out of range is an error with the line's id.
func TestBadQuestions(t *testing.T) {
	for _, c := range []struct{ old, new, why string }{
		{`"rules":"us",`, ``, "no rules"},
		{`"rules":"us"`, `"rules":"uk"`, "rules of next due"},
		{`"rules":"us"`, `"rules":"US"`, "capitals"},
		{`"rules":"us"`, `"rules":null`, "null"},
		{`"rules":"us"`, `"rules":"en"`, "size of the other system"},
		{`"rules":"us"`, `"rules":"us","rules":"us"`, "twice"},
		{`"sling":{"grade":80,"size":"3/8","legs":2},`, ``, "no sling"},
		{`"sling":{"grade":80,"size":"3/8","legs":2}`, `"sling":[]`, "a list"},
		{`"grade":80`, `"grade":90`, "no such grade"},
		{`"grade":80`, `"grade":336`, "80 in eight bits"},
		{`"grade":80`, `"grade":"80"`, "a string"},
		{`"grade":80`, `"grade":80.0`, "no integer"},
		{`"grade":80,`, ``, "no grade"},
		{`"size":"3/8"`, `"size":"10"`, "size of the other system"},
		{`"size":"3/8"`, `"size":"3/8 "`, "space"},
		{`"size":"3/8"`, `"size":10`, "a number"},
		{`"size":"3/8",`, ``, "no size"},
		{`"legs":2}`, `"legs":0}`, "no leg"},
		{`"legs":2}`, `"legs":5}`, "five legs"},
		{`"legs":2}`, `"legs":1}`, "a leg beyond the sling"},
		{`"legs":2}`, `"legs":2,"system":"us"}`, "unknown name"},
		{`,"legs":2}`, `}`, "no legs"},
		{`"links":[`, `"link":[`, "no links"},
		{`"leg":1,"at":4`, `"leg":0,"at":4`, "leg 0"},
		{`"leg":1,"at":4`, `"leg":3,"at":4`, "leg 3"},
		{`"leg":1,"at":4`, `"leg":null,"at":4`, "leg null"},
		{`"leg":1,"at":4`, `"leg":1,"at":0`, "at 0"},
		{`"leg":1,"at":4`, `"leg":1,"at":1000001`, "at beyond a million"},
		{`"leg":1,"at":4`, `"leg":1,"at":null`, "at null"},
		{`"d1_um":9400`, `"d1_um":0`, "no thickness"},
		{`"d1_um":9400`, `"d1_um":-9400`, "below zero"},
		{`"d1_um":9400`, `"d1_um":1000000001`, "over a kilometre"},
		{`"d1_um":9400`, `"d1_um":9.4e3`, "no integer"},
		{`"d1_um":9400`, `"d1_mm":9`, "unknown name"},
		{`"d2_um":9300`, `"d2_um":null`, "null"},
		{`{"leg":1,"at":4,"d1_um":9400,"d2_um":9300}`, `null`, "a link that is null"},
		{`"links":11`, `"links":0`, "no links in a run"},
		{`"links":11`, `"links":1000001`, "links beyond a million"},
		{`"new_um":330000`, `"new_um":0`, "no length when new"},
		{`"new_um":330000`, `"new_um":"330000"`, "a string"},
		{`"length_um":331200`, `"length_um":null`, "null"},
		{`"throat_um":28600`, `"throat_um":null`, "null"},
		{`"throat_new_um":28000`, `"throat_new_um":0`, "no throat when new"},
		{`"twist_mdeg":0`, `"twist_mdeg":-1`, "below zero"},
		{`"twist_mdeg":0`, `"twist_mdeg":360001`, "over a turn"},
		{`"twist_mdeg":0`, `"twist_mdeg":null`, "null"},
		{`"section_new_um":20000`, `"section_new_um":false`, "false"},
		{`"section_um":19400`, `"section_um":null`, "null"},
		{`"latch":"good"`, `"latch":"ok"`, "no such latch"},
		{`"latch":"good"`, `"latch":null`, "null"},
		{`"latch":"good"`, `"latch":""`, "empty"},
		{`"what":"master"`, `"what":"shackle"`, "no such part"},
		{`"what":"master"`, `"what":""`, "empty"},
		{`"what":"master","leg":null`, `"what":"master","leg":1`, "a master of one leg"},
		{`"what":"master","leg":null`, `"what":"pin","leg":3`, "a leg beyond the sling"},
		{`"what":"master","leg":null`, `"what":"pin","leg":0`, "leg 0"},
		{`"thinnest_um":15800`, `"thinnest_um":null`, "null"},
		{`"new_um":16000`, `"new_um":1000000001`, "over a kilometre"},
		{`"seen":[]`, `"seen":null`, "null"},
		{`"seen":[]`, `"seen":["rust"]`, "no such word"},
		{`"seen":[]`, `"seen":["link-worn"]`, "a code of measurements"},
		{`"seen":[]`, `"seen":[""]`, "empty word"},
		{`"seen":[]`, `"seen":["Crack"]`, "capital"},
		{`"seen":[]`, `"seen":[null]`, "null in the list"},
		{`"seen":[]`, `"seen":"crack"`, "no list"},
		{`,"seen":[]`, ``, "no seen"},
		{`"seen":[]}`, `"seen":[]},"note":null`, "unknown name, null"},
	} {
		got := answer(t, replaced(t, c.old, c.new))
		if got["error"] == nil || got["id"] != "m1" {
			t.Errorf("%s: %s for %s: %v", c.why, c.new, c.old, got)
		}
	}
	for _, c := range []struct{ old, new, why string }{
		{`"id":"m1",`, ``, "no id"},
		{`"id":"m1"`, `"id":null`, "null"},
		{`"id":"m1"`, `"id":1`, "a number"},
		{`{"id"`, `{id`, "not JSON"},
		{`"seen":[]}}`, `"seen":[]}`, "no end"},
	} {
		got := answer(t, replaced(t, c.old, c.new))
		if got["error"] == nil || got["id"] != nil {
			t.Errorf("%s: %s for %s: %v", c.why, c.new, c.old, got)
		}
	}
}

// What may be null is the same null, left out, or at the ends of its range.
func TestGoodQuestions(t *testing.T) {
	for _, c := range []struct{ old, new, verdict string }{
		{`"leg":null,`, ``, "fit"},
		{`"new_um":330000,`, ``, "fit"},
		{`"new_um":330000`, `"new_um":null`, "fit"},
		{`"throat_new_um":28000`, `"throat_new_um":null`, "hold"},
		{`"section_new_um":20000,`, ``, "hold"},
		{`"at":4`, `"at":1000000`, "fit"},
		{`"twist_mdeg":0`, `"twist_mdeg":360000`, "out"},
		{`"d1_um":9400`, `"d1_um":1000000000`, "fit"},
		{`"d1_um":9400`, `"d1_um":1`, "out"},
		{`"links":11`, `"links":1000000`, "hold"},
		{`"latch":"good"`, `"latch":"none"`, "fit"},
		{`"grade":80`, `"grade":120`, "fit"},
	} {
		if got := answer(t, replaced(t, c.old, c.new)); got["verdict"] != c.verdict {
			t.Errorf("%s for %s: %v", c.new, c.old, got)
		}
	}
}

// No line panics, an error is never "fit", and every answer is a line that reads back.
func FuzzLine(f *testing.F) {
	seeds := append(lines(f, "assess.questions.jsonl"), []byte(wholeLine))
	if len(seeds) != 151 {
		f.Fatalf("%d seeds", len(seeds))
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			got := answer(t, line)
			if _, failed := got["error"]; failed {
				return
			}
			if v := got["verdict"]; v != "fit" && v != "hold" && v != "out" {
				t.Fatalf("%s: verdict %v", line, v)
			}
		})
	})
}

func BenchmarkLine(b *testing.B) {
	line := []byte(wholeLine)
	b.ReportAllocs()
	for b.Loop() {
		q, err := ParseQuestion(line)
		if err != nil {
			b.Fatal(err)
		}
		a, err := Assess(q)
		if err != nil || a.Verdict != Fit {
			b.Fatal(a, err)
		}
		if _, err := a.MarshalJSON(); err != nil {
			b.Fatal(err)
		}
	}
}
