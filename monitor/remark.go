package monitor

// Remark is something a reader must know beside a number: an assumption that
// it rests on, or why it is missing.
type Remark struct {
	Code string `json:"code"` // short and stable, for programs
	Text string `json:"text"` // a sentence, for people
	Loud bool   `json:"loud"` // must not be overlooked
}

// note adds a remark.
func (m *Mean) note(code, text string) {
	m.Remarks = append(m.Remarks, Remark{Code: code, Text: text})
}

// warn adds a remark that must not be overlooked.
func (m *Mean) warn(code, text string) {
	m.Remarks = append(m.Remarks, Remark{Code: code, Text: text, Loud: true})
}
