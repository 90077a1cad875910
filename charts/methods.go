package charts

// methodsPage states formulas, rules and sources, as text a thesis can cite.
type methodsPage struct {
	common
	Formulas []Source
}

func newMethodsPage(r *Report) *methodsPage {
	return &methodsPage{
		common:   common{Report: r, Title: "Methods", Here: "methods"},
		Formulas: formulaSources(),
	}
}

// formulaSources are the works the formulas of this report come from.
func formulaSources() []Source {
	return []Source{
		{"Cochran 1977", "Cochran, W. G. (1977). Sampling Techniques, 3rd edition. Wiley, New York. Chapters 2 and 4 (means, sample size), 6 (ratios), 10 (subsampling)."},
		{"Hall 1992", "Hall, P. (1992). On the removal of skewness by transformation. Journal of the Royal Statistical Society, Series B 54(1), 221–228."},
		{"Kupper and Hafner 1989", "Kupper, L. L. and Hafner, K. B. (1989). How appropriate are popular sample size formulas? The American Statistician 43(2), 101–105."},
		{"Satterthwaite 1946", "Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components. Biometrics Bulletin 2(6), 110–114."},
		{"Student 1908", "Student (1908). The probable error of a mean. Biometrika 6(1), 1–25."},
	}
}
