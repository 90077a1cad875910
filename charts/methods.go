package charts

import (
	"fmt"
	"strings"
)

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

// MethodsText is a paragraph on what was done, under the settings in force,
// that a thesis can take.
func (p *methodsPage) MethodsText() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Vegetation was clipped by component in frames of known area and expressed as %s dry matter in %s. ", p.Basis, p.Unit)
	b.WriteString("A frame in which a component was looked for and not found counted as zero; components lost before weighing were treated as missing. ")
	b.WriteString("Green weights were converted by ratios of dried to green subsamples (Σ dry ÷ Σ green) where samples were taken, and otherwise by percentages written with the weight or taken from book tables")
	if names := p.tableNames(); names != "" {
		b.WriteString(" (" + names + ")")
	}
	b.WriteString("; the error of the ratios is part of every standard error (Cochran 1977), that of book percentages is not. ")
	fmt.Fprintf(&b, "Intervals are at %s confidence, by Student's t with degrees of freedom after Satterthwaite (1946); for skewed weights Hall's (1992) transformed interval was computed beside them. ", share(p.Confidence))
	fmt.Fprintf(&b, "A sample was called adequate when the mean was known to %s (Cochran 1977). ", p.enough())
	b.WriteString("Trends are least-squares slopes over yearly means, with the Theil-Sen slope and the Mann-Kendall test beside them (Sen 1968; Kendall 1975), and with the rain of the growing season held constant where it was recorded. ")
	b.WriteString("Changes between years were tested on paired frames or transects where these were revisited, and by Welch's (1947) test otherwise, and adjusted after Holm (1979).")
	return b.String()
}

func (p *methodsPage) tableNames() string {
	var names []string
	for _, t := range p.BookTables {
		names = append(names, t.Name)
	}
	return join(names)
}

// formulaSources are the works the formulas of this report come from, as the
// code that computes them names them.
func formulaSources() []Source {
	return []Source{
		{"Bates and others 2015", "Bates, D., Mächler, M., Bolker, B. and Walker, S. (2015). Fitting linear mixed-effects models using lme4. Journal of Statistical Software 67(1)."},
		{"Benjamini and Hochberg 1995", "Benjamini, Y. and Hochberg, Y. (1995). Controlling the false discovery rate. Journal of the Royal Statistical Society, Series B 57(1), 289–300."},
		{"Clogg and others 1995", "Clogg, C. C., Petkova, E. and Haritou, A. (1995). Statistical methods for comparing regression coefficients between models. American Journal of Sociology 100, 1261–1293."},
		{"Cochran 1977", "Cochran, W. G. (1977). Sampling Techniques, 3rd edition. Wiley, New York. Chapters 2 and 4 (means, sample size), 5 (strata), 6 (ratios), 10 (subsampling), 12 (double sampling)."},
		{"Cox 1958", "Cox, D. R. (1958). Some problems connected with statistical inference. Annals of Mathematical Statistics 29, 357–372."},
		{"Dietz and Killeen 1981", "Dietz, E. J. and Killeen, T. J. (1981). A nonparametric multivariate test for monotone trend. Journal of the American Statistical Association 76, 169–174."},
		{"Draper and Smith 1998", "Draper, N. R. and Smith, H. (1998). Applied Regression Analysis, 3rd edition. Wiley, New York."},
		{"Durbin and Watson 1971", "Durbin, J. and Watson, G. S. (1971). Testing for serial correlation in least squares regression III. Biometrika 58, 1–19. With the integral of Imhof, J. P. (1961), Biometrika 48, 419–426."},
		{"Fieller 1954", "Fieller, E. C. (1954). Some problems in interval estimation. Journal of the Royal Statistical Society, Series B 16, 175–185."},
		{"Gilbert 1987", "Gilbert, R. O. (1987). Statistical Methods for Environmental Pollution Monitoring. Van Nostrand Reinhold, New York. Chapter 16."},
		{"Hall 1992", "Hall, P. (1992). On the removal of skewness by transformation. Journal of the Royal Statistical Society, Series B 54(1), 221–228."},
		{"Helsel and Frans 2006", "Helsel, D. R. and Frans, L. M. (2006). Regional Kendall test for trend. Environmental Science and Technology 40, 4066–4073."},
		{"Holm 1979", "Holm, S. (1979). A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6, 65–70."},
		{"Kendall 1975", "Kendall, M. G. (1975). Rank Correlation Methods, 4th edition. Griffin, London."},
		{"Kupper and Hafner 1989", "Kupper, L. L. and Hafner, K. B. (1989). How appropriate are popular sample size formulas? The American Statistician 43(2), 101–105."},
		{"Kuznetsova and others 2017", "Kuznetsova, A., Brockhoff, P. B. and Christensen, R. H. B. (2017). lmerTest package: tests in linear mixed effects models. Journal of Statistical Software 82(13)."},
		{"Larsen and others 2001", "Larsen, D. P., Kincaid, T. M., Jacobs, S. E. and Urquhart, N. S. (2001). Designs for evaluating local and regional scale trends. BioScience 51, 1069–1078."},
		{"Le Houérou 1984", "Le Houérou, H. N. (1984). Rain use efficiency: a unifying concept in arid-land ecology. Journal of Arid Environments 7, 213–247."},
		{"Lin 1989", "Lin, L. I. (1989). A concordance correlation coefficient to evaluate reproducibility. Biometrics 45, 255–268."},
		{"Nat. Range and Pasture Handbook 1997", "National Range and Pasture Handbook (1997). USDA Natural Resources Conservation Service. Chapter 4."},
		{"Satterthwaite 1946", "Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components. Biometrics Bulletin 2(6), 110–114."},
		{"Searle and others 1980", "Searle, S. R., Speed, F. M. and Milliken, G. A. (1980). Population marginal means in the linear model. The American Statistician 34, 216–221."},
		{"Sen 1968", "Sen, P. K. (1968). Estimates of the regression coefficient based on Kendall's tau. Journal of the American Statistical Association 63, 1379–1389."},
		{"Student 1908", "Student (1908). The probable error of a mean. Biometrika 6(1), 1–25."},
		{"Urquhart and Kincaid 1999", "Urquhart, N. S. and Kincaid, T. M. (1999). Designs for detecting trend from repeated surveys of ecological resources. Journal of Agricultural, Biological and Environmental Statistics 4, 404–414."},
		{"Welch 1947", "Welch, B. L. (1947). The generalization of Student's problem when several different population variances are involved. Biometrika 34, 28–35."},
	}
}
