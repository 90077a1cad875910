package schema

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// An import is known again, in whichever ledger it stands, by its identity: a
// hash of what it brought in and when, made where its file was read and handed
// on from ledger to ledger. So a copy, a backup, or a third office that merged
// the same ledger before all name the same import.

// foreignImport is a row of the table import of another ledger.
type foreignImport struct {
	id                              int64
	kind, file, sha256, at, options string
	origin                          string
	originImport                    int64
}

// identify fills in the identity and the number of imports that came from no
// other ledger. Two that are alike in everything are told apart by their order.
func identify(list []foreignImport) error {
	seen := map[string]int{}
	for i := range list {
		r := &list[i]
		if r.origin != "" {
			continue
		}
		text, err := json.Marshal([]string{r.kind, r.file, r.sha256, r.at, r.options})
		if err != nil {
			return fmt.Errorf("identify import %d: %w", r.id, err)
		}
		seen[string(text)]++
		sum := sha256.Sum256(fmt.Appendf(text, "%d", seen[string(text)]))
		r.origin, r.originImport = hex.EncodeToString(sum[:16]), r.id
	}
	return nil
}

// openImports makes an import here for each of theirs that brought records.
// Those that turn out to bring nothing new go again in closeImports.
func (m *ledgerMerge) openImports() error {
	var list []foreignImport
	err := m.from.each(`SELECT import_id, kind, file, sha256, at, options, origin, origin_import FROM import ORDER BY import_id`, nil, func(scan func(...any) error) error {
		var r foreignImport
		err := scan(&r.id, &r.kind, &r.file, &r.sha256, &r.at, &r.options, &r.origin, &r.originImport)
		list = append(list, r)
		return err
	})
	if err != nil {
		return err
	}
	if err := identify(list); err != nil {
		return err
	}
	brought, err := m.brought()
	if err != nil {
		return err
	}
	for _, r := range list {
		if brought[r.id] && r.kind != "built-in" {
			if err := m.openImport(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// brought finds the imports that records of the other ledger name.
func (m *ledgerMerge) brought() (map[int64]bool, error) {
	var parts []string
	for _, t := range recordTables {
		if t.name != "setting" && t.name != "accepted_finding" {
			parts = append(parts, "SELECT import_id FROM "+t.name)
		}
	}
	out := map[int64]bool{}
	return out, m.from.each(strings.Join(parts, " UNION "), nil, func(scan func(...any) error) error {
		var id int64
		err := scan(&id)
		out[id] = true
		return err
	})
}

func (m *ledgerMerge) openImport(r foreignImport) error {
	options, err := m.optionsOf(r)
	if err != nil {
		return err
	}
	res, err := m.t.tx.ExecContext(m.t.ctx, `INSERT INTO import(kind,file,sha256,at,options,origin,origin_import) VALUES(?,?,?,?,?,?,?)`,
		r.kind, r.file, r.sha256, r.at, options, r.origin, r.originImport)
	if err != nil {
		return fmt.Errorf("note the import: %w", err)
	}
	id, err := res.LastInsertId()
	if err != nil {
		return fmt.Errorf("note the import: %w", err)
	}
	name := fmt.Sprintf("%s, import %d, %s", m.Name, r.id, r.kind)
	if r.file != "" {
		name = fmt.Sprintf("%s, import %d, %s", m.Name, r.id, r.file)
	}
	m.imports[r.id] = &Import{Tx: m.t, id: id, Source: Source{Kind: r.kind, File: r.file, Name: name, Replace: m.Replace, Problem: m.problem, Notice: m.Notice}}
	return nil
}

// optionsOf are the options of an import, with the prefix that its site codes
// have taken.
func (m *ledgerMerge) optionsOf(r foreignImport) (string, error) {
	if m.Prefix == "" {
		return r.options, nil
	}
	var options map[string]any
	if err := json.Unmarshal([]byte(r.options), &options); err != nil {
		return "", fmt.Errorf("read the options of import %d: %w", r.id, err)
	}
	earlier, _ := options["prefix"].(string)
	if options == nil {
		options = map[string]any{}
	}
	options["prefix"] = m.Prefix + earlier
	text, err := json.Marshal(options)
	return string(text), err
}

// closeImports writes what each import brought, drops those that brought
// nothing, and notes the merge.
func (m *ledgerMerge) closeImports() (Merged, error) {
	var out Merged
	if m.writing != 0 {
		if err := m.t.exec(`DELETE FROM writing`); err != nil {
			return out, err
		}
	}
	ids := make([]int64, 0, len(m.imports))
	for theirs := range m.imports {
		ids = append(ids, theirs)
	}
	slices.Sort(ids)
	for _, theirs := range ids {
		im := m.imports[theirs]
		out.Identical += im.Identical
		if !m.wrote[im.id] && im.Added+im.Changed+im.namesMade == 0 {
			if err := m.t.exec(`DELETE FROM import WHERE import_id=?`, im.id); err != nil {
				return out, err
			}
			continue
		}
		m.t.wrote = true
		out.Imports++
		out.Added += im.Added
		out.Changed += im.Changed
		if err := m.t.exec(`UPDATE import SET added=?, changed=? WHERE import_id=?`, im.Added, im.Changed, im.id); err != nil {
			return out, err
		}
	}
	if out.Imports == 0 {
		return out, nil
	}
	return out, m.noteMerge()
}

// noteMerge makes the entry that tells when the ledger was merged, after its
// imports, which keep the times at which their files were read.
func (m *ledgerMerge) noteMerge() error {
	options := map[string]any{}
	if m.Prefix != "" {
		options["prefix"] = m.Prefix
	}
	if m.Replace {
		options["replace"] = true
	}
	text, err := json.Marshal(options)
	if err != nil {
		return fmt.Errorf("note the merge: %w", err)
	}
	return m.t.exec(`INSERT INTO import(kind,file,sha256,at,options) VALUES(?,?,'',?,?)`, mergeKind, m.Name, m.t.at, string(text))
}
