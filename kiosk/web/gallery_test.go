package web

import (
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/kiosk/web/webtest"
)

// galleryPage shows every part, fed by literals.
type galleryPage struct {
	Base
	Plate           Plate // one of plates
	Next            []Action
	Strip           Strip
	Working         Working
	Rail, EmptyRail Rail
	Facts           []Fact
	Fields          []Field
	Choices         []Choice
	Lift            Drawing
}

// plates has one of each verdict.
func plates() map[Verdict]Plate {
	return map[Verdict]Plate{
		StaysHere: {Verdict: StaysHere, Name: "NS-0417",
			Sentence: "Too light for this lift: each leg would carry 8,165 lb, and a leg of this sling may carry 7,100 lb.",
			Rule:     "Legs at 52° from horizontal. US table, two legs, 45° row; OSHA sling guidance, table 1.",
			More:     []Reason{{Sentence: "The inspection is overdue since 10 Nov 2025.", Rule: "ASME B30.9-1.9.3"}}},
		MayGo: {Verdict: MayGo, Name: "NS-0290", Sentence: "It carries this lift with 2,100 lb to spare."},
		LookCloser: {Verdict: LookCloser, Name: "NS-0311",
			Sentence: "The record says this sling is out with T. Brandt. Is it here, in your hand?",
			Rule:     "A copied code looks the same: type the last four characters stamped on the plate."},
	}
}

func gallery() *galleryPage {
	return &galleryPage{
		Base: Base{Title: "Gallery"},
		Next: []Action{
			{Label: "Take NS-0290 instead", Sub: "1/2 in grade 80, 2 legs, 8 ft. Peg C4, due 3 Sep 2027", Path: "/", First: true},
			{Label: "Change the lift", Sub: "12,000 lb, two legs", Path: "/"},
		},
		Strip: Strip{Facts: []Fact{{Label: "Size", Value: "3/8 in"}, {Label: "Grade", Value: "80"}, {Label: "Legs", Value: "2"},
			{Label: "Reach", Value: "6 ft", Small: "1,829 mm"}, {Label: "Due", Value: "10 Nov 2026"}}},
		Working: Working{Steps: []Step{
			{Label: "One leg, grade 80, 3/8 in", Value: "7,100 lb", Rule: "OSHA sling guidance, table 1"},
			{Label: "Two legs at 45° from horizontal", Value: "10,000 lb", Rule: "OSHA sling guidance, table 1"},
			{Label: "Needed", Value: "12,868 lb"}}},
		Rail: Rail{Title: "On the counter for T. Brandt", Cards: []Card{
			{Verdict: StaysHere, Title: "NS-0417", Sub: "3/8 in, grade 80, 2 legs", Path: "/", Current: true},
			{Verdict: MayGo, Title: "NS-0290", Sub: "1/2 in, grade 80, 2 legs", Note: "Peg C4", Path: "/"},
			{Verdict: LookCloser, Title: "NS-0311", Sub: "1/2 in, grade 100, 1 leg", Path: "/"},
			{Title: "NS-0502", Sub: "not looked at yet"}}},
		EmptyRail: Rail{Title: "Set down", Empty: "Nothing hangs here. Scan a tag, or type its short code."},
		Facts: []Fact{{Label: "Load, from papers +7 %", Value: "12,868 lb", Small: "5,837 kg"},
			{Label: "This sling, two legs, 45° row", Value: "10,000 lb"}, {Label: "Over by", Value: "2,868 lb", Over: true},
			{Label: "Needed back by", Value: "4 Mar"}},
		Fields: []Field{
			{Name: "load", Label: "Load", Hint: "All that hangs from the hook, rigging included", Value: "12,000", Unit: "lb", Mode: "decimal", Needed: true},
			{Name: "code", Label: "Short code", Value: "4K7-X", Error: "This is no short code of this crib. Look at the tag again; 0 and O are the same."},
			{Name: "photo", Label: "Picture of the tag", Type: "file", Accept: "image/*"}},
		Lift: drawLift(gate.Lift{Hitch: gate.Straight, Legs: 2, Centred: true,
			Angle: &gate.Angle{From: gate.FromHorizontal, Size: 52 * quantity.Degree}}, "12,868 lb", "8,165 lb", true),
		Choices: []Choice{
			{Name: "hitch", Legend: "How is it slung?", Options: []Option{{Value: "straight", Label: "Straight", Sub: "from hook to load", On: true},
				{Value: "choke", Label: "Choker", Sub: "around the load"}, {Value: "basket", Label: "Basket", Sub: "under and up again"}}},
			{Name: "roles", Legend: "What they do here", Many: true, Error: "Choose at least one.",
				Options: []Option{{Value: "a", Label: "Attendant"}, {Value: "b", Label: "Rigger"}}}},
	}
}

// TestGallery draws every part once, and takes its picture.
func TestGallery(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	own := templates{}
	for list, of := range k.server.templates {
		of = maps.Clone(of)
		own[list] = of
		base, err := parseInto(newTemplate(list), list, templateFiles, "templates/base.html", "templates/part/*.html")
		if err == nil {
			of["gallery"], err = parseInto(base, list, os.DirFS("testdata"), "gallery.html")
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	k.server.templates = own
	crib, err := k.store.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/", k.server.Handler())
	mux.Handle("/gallery", k.server.Desk.Sessions().Wrap(protect(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := &visit{w: w, r: r, crib: crib, who: k.attendant}
		page := gallery()
		page.Plate = plates()[Verdict(r.FormValue("verdict"))]
		if err := k.server.render(v, http.StatusOK, "gallery", page); err != nil {
			t.Error(err)
		}
	})), k.server.sessionFailed))
	shown := httptest.NewServer(mux)
	defer shown.Close()

	p := webtest.Start(t).Page(t)
	for verdict := range plates() {
		p.Go(shown.URL + "/gallery?verdict=" + string(verdict))
		words := verdict.Words()
		if got := p.Text(".plate." + string(verdict) + " h1"); got != words[0]+" "+words[1] {
			t.Errorf("verdict %s reads %q", verdict, got)
		}
		looks(t, p, "gallery-"+string(verdict))
		p.Size(1920, 1080)
		p.Shot("gallery-wall-" + string(verdict))
	}
}
