package web

import (
	"strings"

	"cribgate/core/event"
	"cribgate/core/removal"
)

// tellSheet tells what a thorough inspection rests on.
func (t *Telling) tellSheet(s *event.Sheet, w words) {
	if s == nil {
		return
	}
	t.More = append(t.More, "Decided: "+lowerFirst(decisionWords[s.Decision][0])+"; worst measurement at "+itoa((s.Used+9)/10)+" % of its limit.")
	for _, line := range []struct{ name, text string }{
		{"Why", s.Why}, {"Not seen", s.Unseen}, {"How", s.Method}, {"To be repaired", s.Repair}, {"Tests", s.Tests}, {"May be saved", s.Salvage},
	} {
		if line.text != "" {
			t.More = append(t.More, line.name+": "+sentenceEnd(line.text))
		}
	}
	if !s.Danger.IsZero() {
		t.More = append(t.More, "A defect becomes dangerous by "+s.Danger.Long()+".")
	}
	t.Asked = Asked{Lines: []string{s.Verdict.Question, s.Verdict.Answer, s.Verdict.Edition}}
	if q, err := removal.ParseQuestion([]byte(s.Verdict.Question)); err == nil {
		if a, err := removal.Assess(q); err == nil {
			for _, f := range a.Findings {
				found := w.finding(f)
				t.Asked.Reasons = append(t.Asked.Reasons, Reason{Sentence: strings.TrimPrefix(found.Where+": "+found.Sentence, ": "), Rule: found.Rule})
			}
		}
	}
}

// figureTold tells of one dimension of a new part.
func (w words) figureTold(f event.Figure) string {
	what := map[event.Dimension]string{
		event.RunLength: "length", event.Reach: "reach", event.LinkCount: "links", event.Throat: "hook throat", event.Section: "hook section", event.Thickness: strings.ToLower(partLabels[f.Of.What]),
	}[f.Of.Dimension]
	text := upperFirst(w.say(what))
	if f.Of.Leg > 0 {
		text += " of leg " + itoa(f.Of.Leg)
	}
	if f.Of.Dimension == event.LinkCount {
		text += ": " + itoa(int(f.Links))
	} else {
		text += ": " + w.lead.Measured(f.Value)
		if f.Links > 0 {
			text += " over " + itoa(int(f.Links)) + " links"
		}
	}
	return text + ", " + basisWords[f.Basis] + ", " + sentenceEnd(f.Source)
}
