package returncheck

import (
	"slices"

	"cribgate/core/source"
)

// A Question is one thing to look at or to ask. The zero value asks nothing.
type Question struct {
	Word  string // under which its answer is kept; never changed, never used for another
	Asked bool   // of whoever had the sling; else it is looked at
	Title string // in two or three words
	Says  string // the question
	Seek  string // what to look for, or to think of
	Well  string // what the good answer is called
	Wrong string // and the bad one
	Rule  source.Clause
}

// InDoubt is what the third answer to every question is called. It holds the sling.
const InDoubt = "In doubt"

// The words of the questions that are looked at.
const (
	RatingTag    = "rating-tag"
	Legs         = "legs"  // two side by side
	Chain        = "chain" // of one leg
	HookLatch    = "hook-latch"
	HookLock     = "hook-lock"
	HookOpen     = "hook-open" // without a latch
	Shackle      = "shackle"
	EndLink      = "end-link"
	Couplers     = "couplers"
	Adjusters    = "adjusters"
	ForeignParts = "foreign-parts"
	HeatMarks    = "heat-marks"
	EdgeMarks    = "edge-marks"
)

// The words of those that are asked. The first takes together what is told apart by
// the words below it once something did happen.
const (
	Mishap       = "mishap"
	EdgeOrChoke  = "edge-or-choke-not-stated"
	EdgeUnstated = "edge-not-stated"
	TightChoke   = "choke-not-stated"

	Shock    = "shock"
	Overload = "overload"
	Snag     = "snag"
	Heat     = "heat"
	Arc      = "arc"
)

var looks = []Question{
	{Word: RatingTag, Title: "Rating tag", Says: "Is the rating tag there, and can all of it be read?",
		Seek: "Size, grade, legs or rated load that cannot be read; its ring open", Rule: source.TagLegible},
	{Word: Legs, Title: "Legs side by side", Says: "Do the legs match, link for link?",
		Seek: "Hold two side by side: a leg that runs ahead has stretched. Stiff, bent, nicked or cracked links", Rule: source.LegsMatch},
	{Word: Chain, Title: "The chain", Says: "Does it hang straight, and does every link move?",
		Seek: "Stretched, stiff, bent, twisted, nicked or cracked links", Rule: source.CracksAndDamage},
	{Word: HookLatch, Title: "Hook and latch", Says: "Is each hook’s mouth as it was, and does the latch shut?",
		Seek: "Mouth opened, tip bent aside, latch past the tip, or loose", Rule: source.HookLatch},
	{Word: HookLock, Title: "Locking hook", Says: "Does each hook close, and lock?",
		Seek: "Gap at the tip, trigger that does not spring back", Rule: source.HookLatch},
	{Word: HookOpen, Title: "Hook", Says: "Is each hook’s mouth as it was?",
		Seek: "Mouth opened, tip bent aside, a groove where the load lies", Rule: source.ThroatOpening},
	{Word: Shackle, Title: "Shackle", Says: "Is the pin home, and straight?",
		Seek: "Pin bent or not the maker’s, bow spread or worn", Rule: source.HookWear},
	{Word: EndLink, Title: "End link", Says: "Is each end link as it was?",
		Seek: "Stretched, bent, worn where the load lies", Rule: source.DeformedParts},
	{Word: Couplers, Title: "Couplers", Says: "Does every coupler turn freely?",
		Seek: "Stiff, bent, its halves apart, its pin loose or worn", Rule: source.PartWear},
	{Word: Adjusters, Title: "Shortening hooks", Says: "Is each shortening hook as it was?",
		Seek: "Opened, bent, its pin or safety catch missing", Rule: source.PartWear},
	{Word: ForeignParts, Title: "Only the maker’s parts", Says: "Is every part the maker’s?",
		Seek: "A bolt, wire, a welded link, a link of another make or grade", Rule: source.ShopMadeParts},
	{Word: HeatMarks, Title: "Heat", Says: "Is the chain free of heat marks?",
		Seek: "Straw, blue or dull colour, weld spatter, a burnt tag", Rule: source.CracksAndDamage},
	{Word: EdgeMarks, Title: "Where it bore", Says: "Are the links sound where it lay over an edge, or was choked?",
		Seek: "Notches across a link, links bent or flattened", Rule: source.CracksAndDamage},
}

var asks = []Question{
	{Word: Mishap, Title: "What happened", Says: "Shock, overload, snag, heat or an arc?",
		Seek: "It jerked, dropped or slipped; weighed more than stated; caught or dragged; fire or welding", Rule: source.ShockOrOverload},
	{Word: EdgeOrChoke, Title: "Not stated", Says: "Did it lie over an edge, or was it choked, which was not stated?",
		Seek: "A corner, a flange, a small pin; a leg passed through itself", Rule: source.EdgeRadius},
	{Word: EdgeUnstated, Title: "Not stated", Says: "Did it lie over an edge, which was not stated?",
		Seek: "A corner, a flange, a small pin or lug", Rule: source.EdgeRadius},
	{Word: TightChoke, Title: "Not stated", Says: "Was it choked, which was not stated?",
		Seek: "A leg passed through itself, or hooked back into itself", Rule: source.Choke120},
}

var mishaps = []Question{
	{Word: Shock, Title: "Shock", Seek: "it jerked, dropped or slipped", Rule: source.ShockOrOverload},
	{Word: Overload, Title: "Overload", Seek: "or it may have been", Rule: source.ShockOrOverload},
	{Word: Snag, Title: "Snag", Seek: "caught, dragged, pulled free", Rule: source.ShockOrOverload},
	{Word: Heat, Title: "Heat", Seek: "fire, furnace, a hot load", Rule: source.ScrapUS},
	{Word: Arc, Title: "Arc", Seek: "welding current through the chain", Rule: source.CracksAndDamage},
}

// Questions gives the closed list, those that are looked at first.
func Questions() []Question {
	var list []Question
	for _, q := range slices.Concat(looks, asks) {
		list = append(list, q.named())
	}
	return list
}

// Mishaps are what [Mishap] takes together; what happened is kept under their words as
// well.
func Mishaps() []Question {
	var list []Question
	for _, q := range mishaps {
		q.Asked = true
		list = append(list, q)
	}
	return list
}

// Find gives the question of a word; known is false for one of a newer program, and
// for no word at all.
func Find(word string) (q Question, known bool) {
	list := slices.Concat(Questions(), Mishaps())
	i := slices.IndexFunc(list, func(q Question) bool { return q.Word == word })
	if i < 0 {
		return Question{}, false
	}
	return list[i], true
}

// named says what the answers are called.
func (q Question) named() Question {
	q.Well, q.Wrong = "Good", "Wrong"
	if slices.ContainsFunc(asks, func(a Question) bool { return a.Word == q.Word }) {
		q.Asked, q.Well, q.Wrong = true, "No", "Yes"
	}
	return q
}
