package store

// All statements of this package are here by name, so that a test can ask
// SQLite for the plan of each and refuse one that walks a whole table.
const (
	sqlHead = `SELECT pos, hash, envelope FROM log WHERE pos = (SELECT max(pos) FROM log)`

	sqlEnd       = `SELECT max(pos) FROM log`
	sqlEnvelopes = `SELECT pos, envelope FROM log WHERE pos > ?1 ORDER BY pos LIMIT ?2`

	// The story of one subject, and the log after a position. What is left of a body
	// that was erased stands in its place, without a salt.
	// One that is there never passes for erased, whatever is in its cells.
	listSalt = `CASE WHEN body.pos IS NOT NULL THEN coalesce(body.salt, x'') END`
	listBody = `coalesce(body.body, (SELECT rest FROM erased WHERE erased.pos = log.pos))`
	sqlStory = `SELECT log.pos, log.hash, log.subject, log.envelope, ` + listSalt + `, ` + listBody + `
		FROM log LEFT JOIN body ON body.pos = log.pos WHERE log.subject = ?1 ORDER BY log.pos`
	sqlSince = `SELECT log.pos, log.hash, log.subject, log.envelope, ` + listSalt + `, ` + listBody + `
		FROM log LEFT JOIN body ON body.pos = log.pos WHERE log.pos > ?1 ORDER BY log.pos LIMIT ?2`

	// The same with one value for each row, and the lengths of what is in it but for
	// the envelope, NULL where there is nothing: each value that crosses from SQLite
	// by itself costs half as much as a hash.
	sqlWalkLog = `SELECT log.pos, octet_length(log.hash), octet_length(log.subject), octet_length(` + listSalt + `), octet_length(` + listBody + `),
		CAST(coalesce(log.hash, '') || coalesce(log.subject, '') || coalesce(log.envelope, '') || coalesce(body.salt, '') || coalesce(` + listBody + `, '') AS BLOB)
		FROM log LEFT JOIN body ON body.pos = log.pos WHERE log.pos > ?1 ORDER BY log.pos LIMIT ?2`

	sqlInsertLog  = `INSERT INTO log (pos, hash, subject, envelope) VALUES (?1, ?2, ?3, ?4)`
	sqlInsertBody = `INSERT INTO body (pos, salt, body) VALUES (?1, ?2, ?3)`

	sqlAnswered = `SELECT answered.key, request, answer, answered.pos, sum, log.hash
		FROM answered LEFT JOIN log ON log.pos = answered.pos WHERE answered.key = ?1`
	sqlWalkAnswered = `SELECT answered.key, request, answer, answered.pos, sum, log.hash
		FROM answered LEFT JOIN log ON log.pos = answered.pos WHERE answered.key > ?1 ORDER BY answered.key LIMIT ?2`
	sqlInsertAnswered = `INSERT INTO answered (key, request, answer, pos, sum) VALUES (?1, ?2, ?3, ?4, ?5)`
	// Rows are added at the end and go from the beginning, so the oldest come first.
	sqlForgetAnswers = `DELETE FROM answered WHERE rowid IN (SELECT rowid FROM
		(SELECT rowid, pos FROM answered WHERE rowid > 0 ORDER BY rowid LIMIT ?2) WHERE pos <= ?1)`

	sqlCrib         = `SELECT n, state FROM crib WHERE n = 1`
	sqlPerson       = `SELECT n, state FROM person WHERE id = ?1`
	sqlPersonByName = `SELECT n, state FROM person WHERE name = ?1 LIMIT 2`
	sqlPeople       = `SELECT name, id, state FROM person WHERE (name, id) > (?1, ?2) ORDER BY name, id LIMIT ?3`

	sqlSling        = `SELECT n, state FROM sling WHERE id = ?1`
	sqlSlingByIdent = `SELECT n, state FROM sling WHERE ident = ?1 LIMIT 2`
	sqlSlingByTag   = `SELECT sling.n, sling.state FROM tag JOIN sling ON sling.n = tag.sling WHERE tag.digest = ?1 LIMIT 2`
	sqlByShort      = `SELECT DISTINCT sling.n, sling.state FROM tag JOIN sling ON sling.n = tag.sling
		WHERE tag.part = ?1 AND tag.serial = ?2 ORDER BY sling.id LIMIT ?3`
	sqlByNumber = `SELECT n, state FROM sling
		WHERE n IN (SELECT n FROM sling WHERE number = ?1 UNION SELECT sling FROM tag WHERE number = ?1)
		ORDER BY id LIMIT ?2`

	sqlTally   = `SELECT n FROM tally WHERE stands = ?1`
	sqlTallies = `SELECT stands, n FROM tally WHERE stands >= ?1`
	sqlOverdue = `SELECT (SELECT count(*) FROM sling INDEXED BY sling_due
			WHERE stands IN ('in', 'out', 'unchecked', 'held') AND due < ?1)
		+ (SELECT count(*) FROM sling INDEXED BY sling_inspected
			WHERE stands IN ('in', 'out', 'unchecked', 'held') AND inspected < ?2 AND due >= ?1)`

	sqlToCompare = `SELECT (SELECT count(*) FROM sling INDEXED BY sling_compared WHERE compared > '' AND compared < ?1)
		+ (SELECT count(*) FROM sling INDEXED BY sling_compared WHERE compared > ?1)`

	sqlPegs   = `SELECT id, ident, stands, place, seen, seen_at FROM sling INDEXED BY sling_place WHERE stands = ?1 AND place >= ?2 AND place < ?3`
	sqlSeenAt = `SELECT id, ident, stands, place, seen, seen_at FROM sling INDEXED BY sling_seen_at
		WHERE seen = ?1 AND seen <> '' AND seen_at >= ?2 AND seen_at < ?3`

	// What was drawn: that of one loan in its order, other things the newest first.
	sqlLoan = `SELECT log.pos, log.hash, log.subject, log.envelope, ` + listSalt + `, ` + listBody + `
		FROM drawn JOIN log ON log.pos = drawn.pos LEFT JOIN body ON body.pos = drawn.pos WHERE drawn.loan = ?1 ORDER BY drawn.pos`
	sqlShiftGear = `SELECT log.pos, log.hash, log.subject, log.envelope, ` + listSalt + `, ` + listBody + `
		FROM drawn INDEXED BY drawn_shift JOIN log ON log.pos = drawn.pos LEFT JOIN body ON body.pos = drawn.pos
		WHERE drawn.stated = 0 AND drawn.pos < ?1 ORDER BY drawn.pos DESC LIMIT ?2`
	sqlLoansOf = `SELECT loan, pos FROM drawn WHERE rigger = ?1 AND pos < ?2 ORDER BY pos DESC LIMIT ?3`

	// What was said of planned lifts, by day and in its order.
	listPlanned = `SELECT log.pos, log.hash, log.subject, log.envelope, ` + listSalt + `, ` + listBody + ` FROM planned`
	listSaid    = ` JOIN log ON log.pos = planned.pos LEFT JOIN body ON body.pos = planned.pos`

	sqlPlannedOn = listPlanned + ` INDEXED BY planned_day` + listSaid + ` WHERE planned.day >= ?1 AND planned.day <= ?2 ORDER BY planned.day, planned.pos`
	sqlPlannedBy = listPlanned + ` INDEXED BY planned_rigger` + listSaid + ` WHERE planned.rigger = ?1 AND planned.day >= ?2 ORDER BY planned.day, planned.pos`
	sqlPlanned   = listPlanned + ` INDEXED BY planned_lift` + listSaid + ` WHERE planned.lift = ?1 ORDER BY planned.pos`
	sqlAside     = `SELECT n, state FROM sling INDEXED BY sling_aside WHERE aside <> '' AND aside >= ?1 AND aside < ?2 ORDER BY aside, ident, id`

	// What was taken out. Of an answer to whoever was erased nothing is kept.
	sqlInsertErased = `INSERT INTO erased (pos, told, rest) VALUES (?1, ?2, ?3)`
	sqlUpdateErased = `UPDATE erased SET rest = ?2 WHERE pos = ?1`
	sqlDeleteBody   = `DELETE FROM body WHERE pos = ?1`
	sqlWalkErased   = `SELECT erased.pos, told, log.hash, rest FROM erased JOIN log ON log.pos = erased.pos
		WHERE erased.pos > ?1 ORDER BY erased.pos LIMIT ?2`
	sqlUnswept = `SELECT pos FROM erased INDEXED BY erased_unswept WHERE swept = 0 AND pos > 0 LIMIT 1`
	sqlSwept   = `UPDATE erased SET swept = 1 WHERE swept = 0 AND pos > 0`

	// The present, written.
	sqlInsertCrib   = `INSERT INTO crib (n, state) VALUES (1, ?1)`
	sqlUpdateCrib   = `UPDATE crib SET state = ?1 WHERE n = 1`
	sqlInsertPerson = `INSERT INTO person (id, name, state) VALUES (?1, ?2, ?3)`
	sqlUpdatePerson = `UPDATE person SET name = ?2, state = ?3 WHERE n = ?1`
	sqlInsertSling  = `INSERT INTO sling (id, ident, number, place, stands, due, inspected, holder, compared, state)
		VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)`
	sqlUpdateSling = `UPDATE sling SET ident = ?2, number = ?3, place = ?4, stands = ?5, due = ?6, inspected = ?7, holder = ?8, compared = ?9, state = ?10
		WHERE n = ?1`
	sqlMoveSling  = `UPDATE sling SET stands = ?2, holder = ?3, state = ?4 WHERE n = ?1`
	sqlTouchSling = `UPDATE sling SET state = ?2 WHERE n = ?1`
	sqlMarkSling  = `UPDATE sling SET owes = ?2, doubled = ?3, seen = ?4, seen_at = ?5, bench = ?6, aside = ?7 WHERE n = ?1`

	sqlBench = `SELECT bench, ident, id, state FROM sling INDEXED BY sling_bench
		WHERE bench <> '' AND (bench, ident, id) > (?1, ?2, ?3) ORDER BY bench, ident, id LIMIT ?4`

	sqlWantSling = `UPDATE sling SET wants = ?2, stock = ?3 WHERE n = ?1`
	sqlInsertTag = `INSERT INTO tag (digest, sling, serial, part, number, ident, stock, stands, day) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)
		ON CONFLICT (digest, sling, serial) DO UPDATE SET ident = ?6, stock = ?7, stands = ?8, day = ?9`
	sqlInsertDrawn   = `INSERT INTO drawn (pos, loan, sling, rigger, stated) VALUES (?1, ?2, ?3, ?4, ?5)`
	sqlInsertPlanned = `INSERT INTO planned (pos, lift, day, rigger) VALUES (?1, ?2, ?3, ?4)`
	sqlInsertWord    = `INSERT INTO word (word, ident, id, sling) VALUES (?1, ?2, ?3, ?4)`
	sqlDeleteWord    = `DELETE FROM word WHERE word = ?1 AND ident = ?2 AND id = ?3`

	// The present, walked in parts in an order that is the same for everybody.
	sqlWalkPeople = `SELECT id, name, state FROM person WHERE id > ?1 ORDER BY id LIMIT ?2`
	sqlWalkSlings = `SELECT n, id, ident, number, place, stands, due, inspected, holder, compared, wants, stock, owes, doubled, seen, seen_at, bench, aside, state FROM sling
		WHERE id > ?1 ORDER BY id LIMIT ?2`
	sqlTagsOf      = `SELECT digest, serial, part, number, ident, stock, stands, day FROM tag WHERE sling = ?1 ORDER BY digest, serial`
	sqlWalkDrawn   = `SELECT pos, loan, sling, rigger, stated FROM drawn WHERE pos > ?1 AND pos <= ?2 ORDER BY pos`
	sqlWalkPlanned = `SELECT pos, lift, day, rigger FROM planned WHERE pos > ?1 AND pos <= ?2 ORDER BY pos`
	sqlWordsOf     = `SELECT word, ident, id FROM word WHERE sling = ?1 ORDER BY word, ident, id`

	// The same for whoever looks at all slings, in the order in which they lie there.
	sqlSlingRows = `SELECT n, id, ident, number, place, stands, due, inspected, holder, compared, wants, stock, owes, doubled, seen, seen_at, bench, aside, state FROM sling
		WHERE n > ?1 ORDER BY n LIMIT ?2`
	sqlTagRows = `SELECT sling, digest, serial, part, number, ident, stock, stands, day FROM tag
		WHERE sling > ?1 AND sling <= ?2 ORDER BY sling, digest, serial`
	sqlWordRows = `SELECT sling, word, ident, id FROM word WHERE sling > ?1 AND sling <= ?2 ORDER BY sling, word, ident, id`
)

// forgetting drops the answers that an act gave which appended a body that is
// erased: the digest of what was asked has the name in it. It happens so seldom
// that it may walk the table.
var forgetting = [...]string{`DELETE FROM answered WHERE pos = ?1`}

// clearing empties the present, what points at others first.
var clearing = [...]string{
	`DELETE FROM drawn`, `DELETE FROM planned`, `DELETE FROM word`, `DELETE FROM tag`, `DELETE FROM sling`, `DELETE FROM person`, `DELETE FROM crib`, `DELETE FROM tally`,
}
