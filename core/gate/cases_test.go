package gate

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"testing"
)

// wireAnswer is one answer line, as another program would read it.
type wireAnswer struct {
	ID         *string
	Error      *string
	Verdict    string
	Reasons    []string
	Required   *int64 `json:"required_g"`
	Allowed    *int64 `json:"allowed_g"`
	Leg        *int64 `json:"leg_g"`
	LegAllowed *int64 `json:"leg_allowed_g"`
	Tilt       *int64 `json:"tilt_mdeg"`
	Capacity   map[string]int64
}

func readLines(t testing.TB, name string) [][]byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.Split(b, []byte("\n"))
	return slices.DeleteFunc(lines, func(line []byte) bool { return len(line) == 0 })
}

// answerLine answers a line as the machine surface does, as far as this package goes.
func answerLine(t testing.TB, line []byte) (wireAnswer, error) {
	t.Helper()
	q, err := ParseQuestion(line)
	if err != nil {
		return wireAnswer{ID: &q.ID}, err
	}
	a, err := Decide(q)
	if err != nil {
		return wireAnswer{ID: &a.ID}, err
	}
	b, err := a.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	var w wireAnswer
	if err := json.Unmarshal(b, &w); err != nil {
		t.Fatal(err)
	}
	return w, nil
}

func near(a, b *int64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a-*b <= 1 && *b-*a <= 1
}

func sameAnswer(got, want wireAnswer) bool {
	if !near(got.Leg, want.Leg) || !near(got.Tilt, want.Tilt) {
		return false
	}
	got.Leg, got.Tilt, want.Leg, want.Tilt = nil, nil, nil, nil
	return reflect.DeepEqual(got, want)
}

func compareLine(t *testing.T, question, answer []byte) {
	t.Helper()
	var want wireAnswer
	if err := json.Unmarshal(answer, &want); err != nil {
		t.Fatal(err)
	}
	got, err := answerLine(t, question)
	switch {
	case (err != nil) != (want.Error != nil):
		t.Errorf("error %v\n question %s\n answer   %s", err, question, answer)
	case err != nil:
		if *got.ID != *want.ID {
			t.Errorf("id %q\n question %s\n answer   %s", *got.ID, question, answer)
		}
	case !sameAnswer(got, want):
		b, _ := json.Marshal(got)
		t.Errorf("got      %s\n answer   %s\n question %s", b, answer, question)
	}
}

// Questions on and beside limits, answered by an independent program.
func TestCases(t *testing.T) {
	questions, answers := readLines(t, "testdata/decide.questions.jsonl"), readLines(t, "testdata/decide.answers.jsonl")
	if len(questions) != 250 || len(answers) != 250 {
		t.Fatalf("%d questions and %d answers; want 250", len(questions), len(answers))
	}
	for i := range questions {
		compareLine(t, questions[i], answers[i])
	}
}

// An answer whose memory is used again says what a new one says, whatever it said
// before, and takes no memory about a lift.
func TestAnswerInTheSameMemory(t *testing.T) {
	var again Answer
	var lifts []Question
	for _, line := range readLines(t, "testdata/decide.questions.jsonl") {
		q, err := ParseQuestion(line)
		if err != nil {
			continue
		}
		want, wantErr := Decide(q)
		err = DecideInto(&again, &q)
		got := again
		if len(got.Reasons) == 0 {
			got.Reasons = nil // none, in memory or not
		}
		if (err != nil) != (wantErr != nil) || !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v, %v; want %+v, %v\n question %s", again, err, want, wantErr, line)
		}
		stands, due := Standing(&q)
		if wantErr == nil && (due != want.Due || SetOf(want.Reasons...)&stands != stands || stands.Len() != len(stands.Append(nil))) {
			t.Fatalf("%v stand, due %v; want %v, %v", stands.Append(nil), due, want.Reasons, want.Due)
		}
		if wantErr == nil && q.Lift != nil {
			lifts = append(lifts, q)
		}
	}
	at := 0
	if n := testing.AllocsPerRun(len(lifts)*2, func() {
		if err := DecideInto(&again, &lifts[at%len(lifts)]); err != nil {
			t.Fatal(err)
		}
		at++
	}); n != 0 || len(lifts) < 100 {
		t.Errorf("%v allocations an answer, %d lifts", n, len(lifts))
	}
}

// Published table cells and worked cases, each with its source.
func TestPublishedCases(t *testing.T) {
	lines := readLines(t, "testdata/published.jsonl")
	if len(lines) != 750 {
		t.Fatalf("%d cases; want 750", len(lines))
	}
	for _, line := range lines {
		var c struct {
			Question, Answer json.RawMessage
			Source, Why      string
		}
		if err := json.Unmarshal(line, &c); err != nil {
			t.Fatal(err)
		}
		compareLine(t, c.Question, c.Answer)
		if t.Failed() {
			t.Fatalf("from %s: %s", c.Source, c.Why)
		}
	}
}
