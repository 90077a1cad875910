package export

var darwinFiles []string

func (w *writer) darwinCore() error { return nil }
func (w *writer) eml() error        { return nil }
