package source

// Text names one published text, or the lack of one. The zero Text is unknown.
type Text uint8

// The texts that clauses are taken from.
const (
	unknownText Text = iota
	OSHAGuide
	CFR1910
	CFR1926
	CFR1915
	CFR1919
	WAC
	Michigan
	DOE1090
	LOLER
	B309
	B3010
	EN8184
	EN8186
	AS3775
	ASTMA391
	ASTMA906
	FM5125
	ISO3
	ISO7064
	ISO18004
	ISO15415
	RFC2104
	RFC4648
	RFC6234
	SP80063B
	WCAG22
	IowaIM
	EN1991
	TradeCharts
	Statics
	CommonPractice
	SitePolicy
	textEnd
)

type textRow struct{ key, short, title, edition string }

// texts holds one row per Text, in the order of the constants.
var texts = [textEnd]textRow{
	unknownText:    {"unknown", "no text", "unknown text", "none"},
	OSHAGuide:      {"OSHA-G", "OSHA sling guide", "US OSHA, Guidance on Safe Sling Use", "alloy chain chapter, tables 1 to 3, as stored on the agency's pages"},
	CFR1910:        {"29CFR1910.184", "29 CFR 1910.184", "29 CFR 1910.184, Slings (general industry)", "as quoted or mirrored in state rules and in a 2010 print"},
	CFR1926:        {"29CFR1926.251", "29 CFR 1926.251", "29 CFR 1926.251, Rigging equipment (construction)", "2007 print and the current page"},
	CFR1915:        {"29CFR1915.112", "29 CFR 1915.112", "29 CFR 1915.112, Ropes, chains and slings (shipyards)", "current page, part seen"},
	CFR1919:        {"29CFR1919.25", "29 CFR 1919.25", "29 CFR 1919.25, Proof tests and inspections of cargo gear", "current page, part seen"},
	WAC:            {"WAC", "WAC", "Washington Administrative Code, titles 296-24 and 296-155", "current page"},
	Michigan:       {"MI", "MI R 408.14923", "Michigan Administrative Code R 408.14923", "table 1"},
	DOE1090:        {"DOE-STD-1090", "DOE-STD-1090", "DOE-STD-1090-96, Hoisting and Rigging", "1996, chapters 11 and 15"},
	LOLER:          {"LOLER", "LOLER", "UK Lifting Operations and Lifting Equipment Regulations, SI 1998/2307", "1998; Northern Ireland SR 1999/304 has the same wording"},
	B309:           {"B30.9", "ASME B30.9", "ASME B30.9, Slings, chapter 9-1", "only through texts that quote it; edition not seen"},
	B3010:          {"B30.10", "ASME B30.10", "ASME B30.10, Hooks", "only through texts that quote it; edition not seen"},
	EN8184:         {"EN818-4", "EN 818-4", "EN 818-4, Short link chain for lifting: chain slings, grade 8", "only through trade rating tables; edition not seen"},
	EN8186:         {"EN818-6", "EN 818-6", "EN 818-6, Short link chain for lifting: information for use", "only through trade user instructions; edition not seen"},
	AS3775:         {"AS3775.1", "AS 3775.1", "AS 3775.1, Chain slings", "through one trade load card"},
	ASTMA391:       {"ASTMA391", "ASTM A391", "ASTM A391, Grade 80 alloy steel chain", "scope note"},
	ASTMA906:       {"ASTMA906", "ASTM A906", "ASTM A906, Grade 80 and 100 alloy steel chain slings", "through a trade table"},
	FM5125:         {"FM5-125", "FM 5-125", "US Army FM 5-125, Rigging techniques", "from memory"},
	ISO3:           {"ISO3", "ISO 3", "ISO 3, Preferred numbers", "series R40, from memory, recomputed"},
	ISO7064:        {"ISO7064", "ISO 7064", "ISO 7064, Check character systems", "through public test suites"},
	ISO18004:       {"ISO18004", "ISO/IEC 18004", "ISO/IEC 18004, QR code symbology", "through an open encoder's tables"},
	ISO15415:       {"ISO15415", "ISO/IEC 15415", "ISO/IEC 15415, Print quality of two-dimensional symbols", "through a verifier manual"},
	RFC2104:        {"RFC2104", "RFC 2104", "RFC 2104, HMAC: keyed hashing for message authentication", "1997, section 5 from memory"},
	RFC4648:        {"RFC4648", "RFC 4648", "RFC 4648, The Base16, Base32 and Base64 data encodings", "2006"},
	RFC6234:        {"RFC6234", "RFC 6234", "RFC 6234, US secure hash algorithms", "2011"},
	SP80063B:       {"SP800-63B", "NIST SP 800-63B", "NIST SP 800-63B, Digital identity guidelines: authentication", "revision 3"},
	WCAG22:         {"WCAG2.2", "WCAG 2.2", "W3C Web Content Accessibility Guidelines 2.2", "2023"},
	IowaIM:         {"IM452.02", "Iowa DOT IM 452.02", "Iowa DOT, Instructional Memorandum 452.02, Computing structural steel weight", "current page"},
	EN1991:         {"EN1991-1-1", "EN 1991-1-1", "EN 1991-1-1, Densities, self-weight, imposed loads for buildings, annex A", "only through a trade page on it"},
	TradeCharts:    {"TRADE", "trade charts", "rating charts and instructions of makers and riggers", "several, unnamed here"},
	Statics:        {"STATICS", "statics", "statics of a body hung from one hook", "computed"},
	CommonPractice: {"PRACTICE", "common practice", "common practice, no source", "none"},
	SitePolicy:     {"POLICY", "site policy", "site policy, no source", "none"},
}

func (t Text) row() textRow {
	if t >= textEnd {
		t = unknownText
	}
	return texts[t]
}

// Key is the stable short spelling of the text, such as "EN818-6".
func (t Text) Key() string { return t.row().key }

// Short names the text in a few letters, for where there is little room.
func (t Text) Short() string { return t.row().short }

// Title names the text for people.
func (t Text) Title() string { return t.row().title }

// Edition says which edition was read, or how the text is known.
func (t Text) Edition() string { return t.row().edition }

// Confidence says how far a reading can be trusted. The zero Confidence is
// unknown, which trusts nothing.
type Confidence uint8

// The grades of confidence, the firmest first.
const (
	unknownConfidence Confidence = iota
	// Seen: read in the stored text of the law, guide or specification.
	Seen
	// Quoted: read in another text that quotes it.
	Quoted
	// Computed: worked out from a stated rule.
	Computed
	// Memory: from memory, not seen.
	Memory
	// Unsourced: practice or policy; no text says it.
	Unsourced
)

// String is the words that a page prints beside a clause.
func (c Confidence) String() string {
	switch c {
	case Seen:
		return "seen"
	case Quoted:
		return "as others quote it"
	case Computed:
		return "computed"
	case Memory:
		return "from memory, not seen"
	case Unsourced:
		return "no source"
	}
	return "unknown"
}
