package export

import _ "embed"

//go:embed means.sql
var meansText string

// meansSQL writes the SQL that computes frame production and means elsewhere.
func (w *writer) meansSQL() error { return w.stageText("means.sql", meansText) }
