// Package source is the closed register of the published texts and of the
// places in them that this program follows.
//
// Every table row, rule, reason and step of a working carries one [Clause], so
// that a page, a report or a test can say where a figure comes from. A clause
// names its text ([Clause.Text]), the place in it ([Clause.Place]), what it
// says in one line ([Clause.Says]) and how far that reading can be trusted
// ([Clause.Confidence]): some texts were read, some only through others that
// quote them, some are remembered. What no text says is marked as common
// practice or as site policy, and never dressed up as law.
//
// The package decides nothing and holds no figures that are computed with;
// those lie beside the rule that uses them. Keys ([Clause.Key]) are stable and
// may be stored; numbers of the constants are not and may not.
//
// Nothing here replaces the texts themselves, the maker's instructions, the
// competent person or the local law.
package source
