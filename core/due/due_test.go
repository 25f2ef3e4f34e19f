package due

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/source"
	"cribgate/core/strict"
)

func lines(t *testing.T, name string) [][]byte {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var list [][]byte
	s := bufio.NewScanner(f)
	for s.Scan() {
		list = append(list, append([]byte(nil), s.Bytes()...))
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	return list
}

// answer is the line that the machine surface would print.
func answer(t *testing.T, line []byte) map[string]any {
	t.Helper()
	q, err := ParseQuestion(line)
	if err == nil {
		var a Answer
		if a, err = Ask(q); err == nil {
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
			t.Errorf("%s: got %v, want %s", question, got, want)
		}
		return
	}
	if !reflect.DeepEqual(got, w) {
		t.Errorf("%s: got %v, want %s", question, got, want)
	}
}

// The answers come from an independent program.
func TestIndependentAnswers(t *testing.T) {
	questions, answers := lines(t, "due.questions.jsonl"), lines(t, "due.answers.jsonl")
	if len(questions) != 60 || len(answers) != 60 {
		t.Fatalf("%d questions, %d answers", len(questions), len(answers))
	}
	for i, q := range questions {
		check(t, q, answers[i])
	}
}

func TestPublishedAnswers(t *testing.T) {
	published := lines(t, "published.jsonl")
	if len(published) != 11 {
		t.Fatalf("%d cases", len(published))
	}
	for _, line := range published {
		var c struct{ Question, Answer json.RawMessage }
		if err := json.Unmarshal(line, &c); err != nil {
			t.Fatal(err)
		}
		check(t, c.Question, c.Answer)
	}
}

func date(t testing.TB, s string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestNext(t *testing.T) {
	for _, c := range []struct {
		rules   Rules
		service Service
		months  int
		want    string // from 2026-01-31
		err     error
	}{
		{US, Normal, 0, "2027-01-31", nil},    // 29 CFR 1910.184(e)(3): never more than 12 months
		{US, Normal, 12, "", ErrMonths},       // no months with normal
		{US, Severe, 0, "2026-02-28", nil},    // B30.9: monthly to quarterly, the monthly end
		{US, Severe, 1, "2026-02-28", nil},    //
		{US, Severe, 3, "2026-04-30", nil},    // B30.9, the quarterly end
		{US, Severe, 4, "", ErrMonths},        //
		{US, Special, 0, "", ErrMonthsNeeded}, // WAC table 12: as a qualified person says
		{US, Special, 12, "2027-01-31", nil},  //
		{US, Special, 13, "", ErrMonths},      //
		{EN, Normal, 0, "2027-01-31", nil},    // EN 818-6: at most 12 months
		{EN, Severe, 0, "2026-04-30", nil},    // WAC table 12: at least quarterly
		{EN, Severe, 1, "2026-02-28", nil},    //
		{EN, Severe, 4, "", ErrMonths},        //
		{EN, Special, 1, "", ErrNoInterval},   //
		{EN, Special, 0, "", ErrNoInterval},   //
		{UK, Normal, 0, "2026-07-31", nil},    // LOLER 9(3)(a): at least every 6 months
		{UK, Severe, 0, "2026-04-30", nil},    //
		{UK, Severe, 1, "2026-02-28", nil},    //
		{UK, Severe, 3, "2026-04-30", nil},    //
		{UK, Severe, 4, "", ErrMonths},        //
		{UK, Special, 6, "2026-07-31", nil},   // LOLER 9(3)(a)(iii): an examination scheme
		{UK, Special, 7, "", ErrMonths},       //
		{UK, Special, 0, "", ErrMonthsNeeded}, //
		{Yard, Normal, 0, "2026-04-30", nil},  // 29 CFR 1915.112: every 3 months
		{Yard, Severe, 0, "2026-02-28", nil},  //
		{Yard, Severe, 3, "2026-04-30", nil},  //
		{Yard, Severe, 4, "", ErrMonths},      //
		{Yard, Special, 1, "", ErrNoInterval}, //
		{US, Severe, -1, "", ErrMonths},       //
		{0, Normal, 0, "", ErrNoInterval},     // zero values refuse
		{US, 0, 0, "", ErrNoInterval},         //
		{Rules(200), Service(200), 0, "", ErrNoInterval},
	} {
		got, err := Next(date(t, "2026-01-31"), c.service, c.rules, c.months)
		if got.String() != c.want || !errors.Is(err, c.err) {
			t.Errorf("%s %s %d: %q, %v; want %q, %v", c.rules, c.service, c.months, got, err, c.want, c.err)
		}
	}
	if _, err := Next(quantity.Date{}, Normal, US, 0); !errors.Is(err, ErrNotInspected) {
		t.Errorf("never inspected: %v", err)
	}
	if d, err := Next(date(t, "9999-01-01"), Normal, US, 0); !errors.Is(err, ErrTooLate) || !d.IsZero() {
		t.Errorf("beyond the range: %v, %v", d, err)
	}
	if d, err := Next(date(t, "9998-12-31"), Normal, US, 0); err != nil || d.String() != "9999-12-31" {
		t.Errorf("last day of the range: %v, %v", d, err)
	}
}

func TestBadQuestions(t *testing.T) {
	for _, c := range []struct{ line, why string }{
		{`{"inspected":"2026-01-31","service":"severe","rules":"us"}`, "no id"},
		{`{"id":null,"inspected":"2026-01-31","service":"severe","rules":"us"}`, "id null"},
		{`{"id":1,"inspected":"2026-01-31","service":"severe","rules":"us"}`, "id a number"},
		{`{"id":"a","service":"severe","rules":"us"}`, "no inspected"},
		{`{"id":"a","inspected":null,"service":"severe","rules":"us"}`, "inspected null"},
		{`{"id":"a","inspected":"","service":"severe","rules":"us"}`, "inspected empty"},
		{`{"id":"a","inspected":20260131,"service":"severe","rules":"us"}`, "inspected a number"},
		{`{"id":"a","inspected":"2026-02-29","service":"severe","rules":"us"}`, "no such day"},
		{`{"id":"a","inspected":"2026-13","service":"severe","rules":"us"}`, "no such month"},
		{`{"id":"a","inspected":"0000-01-01","service":"severe","rules":"us"}`, "year 0"},
		{`{"id":"a","inspected":"2026","service":"severe","rules":"us"}`, "year only"},
		{`{"id":"a","inspected":"2026-01-31","rules":"us"}`, "no service"},
		{`{"id":"a","inspected":"2026-01-31","service":"Severe","rules":"us"}`, "capital"},
		{`{"id":"a","inspected":"2026-01-31","service":"","rules":"us"}`, "service empty"},
		{`{"id":"a","inspected":"2026-01-31","service":["severe"],"rules":"us"}`, "service a list"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe"}`, "no rules"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe","rules":""}`, "rules empty"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe","rules":"au"}`, "unknown rules"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe","rules":"us","months":0}`, "months 0"},
		{`{"id":"a","inspected":"2026-01-31","service":"special","rules":"us","months":13}`, "months 13"},
		{`{"id":"a","inspected":"2026-01-31","service":"special","rules":"us","months":6.0}`, "months not an integer"},
		{`{"id":"a","inspected":"2026-01-31","service":"special","rules":"us","months":"6"}`, "months a string"},
		{`{"id":"a","inspected":"2026-01-31","service":"special","rules":"us","months":null}`, "months null with special"},
		{`{"id":"a","inspected":"2026-01-31","service":"normal","rules":"us","months":6}`, "months with normal"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe","rules":"us","x":null}`, "unknown name, null"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe","rules":"us","Rules":"us"}`, "unknown name"},
		{`{"id":"a","inspected":"2026-01-31","service":"severe","rules":"us","rules":"us"}`, "name twice"},
		{`{"id":"a","inspected":"9999-12-01","service":"severe","rules":"us"}`, "due in year 10000"},
		{`["a"]`, "not an object"},
		{`{}`, "nothing"},
	} {
		if got := answer(t, []byte(c.line)); got["error"] == nil {
			t.Errorf("%s: %s is answered by %v", c.why, c.line, got)
		}
	}
}

func TestRows(t *testing.T) {
	for _, row := range intervals {
		if row.Clause == source.None || row.Max > 12 || row.Months > 12 || row.Min > row.Max || row.Months == 0 && row.Max == 0 {
			t.Errorf("row %+v", row)
		}
		if row.Months != 0 && row.Max != 0 && (row.Months < row.Min || row.Months > row.Max) {
			t.Errorf("row %+v: its own interval is out of its range", row)
		}
		if s, ok := ParseService(row.Service.String()); !ok || s != row.Service {
			t.Errorf("service %d does not read back", row.Service)
		}
		if r, ok := ParseRules(row.Rules.String()); !ok || r != row.Rules {
			t.Errorf("rules %d do not read back", row.Rules)
		}
	}
	if _, ok := ParseService(""); ok {
		t.Error("an empty service is one")
	}
	if _, ok := ParseRules(""); ok {
		t.Error("empty rules are some")
	}
}

// Never beyond the longest interval of the rules, always after the inspection,
// and harder service is never due later.
func TestNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day, ok := quantity.NewDate(rapid.IntRange(1, 9990).Draw(t, "y"), rapid.IntRange(1, 12).Draw(t, "m"), 1)
		if !ok {
			t.Fatal("no such day")
		}
		day = day.AddDays(rapid.IntRange(0, 30).Draw(t, "d"))
		rules := Rules(rapid.IntRange(1, 4).Draw(t, "rules"))
		longest := map[Rules]int{US: 12, EN: 12, UK: 6, Yard: 3}[rules]
		normal, err := Next(day, Normal, rules, 0)
		if err != nil || normal != day.AddMonths(longest) {
			t.Fatalf("normal: %v, %v", normal, err)
		}
		service := Service(rapid.IntRange(1, 3).Draw(t, "service"))
		due, err := Next(day, service, rules, rapid.IntRange(0, 13).Draw(t, "months"))
		if err != nil {
			if !due.IsZero() {
				t.Fatalf("%v with %v", due, err)
			}
			return
		}
		if due.After(normal) || !due.After(day) {
			t.Fatalf("%s service from %s is due %s, normal %s", service, day, due, normal)
		}
	})
}

func TestAnswerWithoutDate(t *testing.T) {
	if text, err := (Answer{ID: "a"}).MarshalJSON(); err == nil {
		t.Errorf("an answer without a date prints as %s", text)
	}
}

func ExampleAsk() {
	q, err := ParseQuestion([]byte(`{"id":"d1","inspected":"2026-01-31","service":"severe","rules":"us"}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := Ask(q)
	fmt.Println(a.Due, err)
	// Output: 2026-02-28 <nil>
}

func BenchmarkAsk(b *testing.B) {
	line := []byte(`{"id":"d1","inspected":"2026-01-31","service":"severe","rules":"us"}`)
	b.ReportAllocs()
	for b.Loop() {
		q, err := ParseQuestion(line)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Ask(q); err != nil {
			b.Fatal(err)
		}
	}
}
