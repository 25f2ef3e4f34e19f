package web

import (
	"net/http"
	"net/url"
	"testing"

	"cribgate/core/event"
)

func (k *kiosk) beginsVisit() event.VisitID {
	k.t.Helper()
	id, err := k.server.Counter.BeginVisit(k.t.Context(), k.byKeeper(), event.VisitBegun{Examiner: "X. Aminer", Firm: "North examiners", Qualification: "lifting gear, level 2"})
	if err != nil {
		k.t.Fatal(err)
	}
	return id
}

// What is wrong with what was sent is told at its field, and nothing is written down.
func TestExaminerBadInput(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	c := k.signedIn(k.keeper)
	if a := c.send(c.get(examinerPath), examinerPath, url.Values{"examiner": {"X"}, "due-before": {"soon"}}); a.status != http.StatusUnprocessableEntity || !a.has("for whom the examiner works") || !a.has("no day of the calendar") {
		t.Errorf("%d %s", a.status, a.words())
	}
	visit := k.beginsVisit().String()
	path := examinePath + "NS-0417"
	for _, row := range []struct {
		say  string
		form url.Values
	}{
		{"Look at the maker’s rating tag", url.Values{"rating-tag": {""}}},
		{"has not come yet", url.Values{"date": {"2026-03-03"}}},
		{"from the last inspection on record", url.Values{"date": {"2025-11-09"}}},
		{"never later", url.Values{"due": {"2027-03-03"}}},
		{"A defect is written here", url.Values{"what-1": {"latch"}, "when-1": {"now"}}},
		{"Write what is wrong", url.Values{"said": {"defect"}}},
		{"Write what is wrong", url.Values{"when-2": {"now"}}},
		{"Say whether it is dangerous now", url.Values{"said": {"defect"}, "what-1": {"latch"}}},
		{"not both", url.Values{"said": {"defect"}, "what-1": {"latch"}, "when-1": {"now"}, "by-1": {"2026-04-01"}}},
		{"not after the examination", url.Values{"said": {"defect"}, "what-1": {"latch"}, "when-1": {"by"}, "by-1": {"2026-03-02"}}},
		{"Say whether it passed", url.Values{"said": {""}}},
	} {
		form := url.Values{"visit": {visit}, "heads": {headsText(k.sling(id).Heads)}, "key": {newKey()}, "date": {"2026-03-02"}, "rating-tag": {"legible"}, "said": {"passed"}}
		for name, value := range row.form {
			form[name] = value
		}
		if a := c.post(path, form); a.status != http.StatusUnprocessableEntity || !a.has(row.say) {
			t.Errorf("%v: %d, %s", row.form, a.status, a.words())
		}
	}
	if k.recorded(id, event.KindExamined) != 0 {
		t.Error("something was written down")
	}
	if a := c.post(visitEndPath, url.Values{"visit": {visit}, "key": {newKey()}}); a.status != http.StatusUnprocessableEntity || !a.has("number of the examiner’s report") {
		t.Errorf("%d %s", a.status, a.words())
	}
}
