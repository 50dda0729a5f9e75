package verify

// Result is everything a report prints about one unit. Losses are in dB, amplitudes plain, wavelengths
// in metres, temperatures in kelvin; Unit fields name the unit where it varies. Uncertainties called
// Standard or Sigma are standard, those called U or Expanded are expanded.
type Result struct {
	Unit, Lot    string
	Condition    string // before, during or after a test; "" where the file states none
	File, SHA256 string
	Meta         [][2]string
	Polarization Polarization
	// Compared names the model figure the readings are compared with: "isolation_mean" or "isolation".
	Compared     string
	LossCompared string // "insertion_loss" or "insertion_loss_max"

	Agreement  Verdict
	Conformity Verdict
	Quality    Verdict

	Runs      []Sweep
	Points    []Point     // backward readings, in the order of the file
	Losses    []LossPoint // forward readings, in the order of the file
	Curves    []Curve
	Figures   []Figure // key figures, on which Agreement rests
	Joint     Joint
	Decisions []Decision
	Diagnosis Diagnosis
	Checks    []Check // of data quality
	Budgets   []FigureBudget
	Floor     *FloorUsed
	Censored  int       // number of "at least" readings
	Bounds    int       // how many of them the file gives as such
	Outliers  []Outlier // by line
	Collapse  *Collapse // nil where nothing was fitted, or the model has not exactly one rotator
	Valley    *Valley   // nil with readings at one temperature
	Ledgers   []Ledger
	Unused    []string // what of the file holds readings and is compared with nothing, in a few words each
	Cautions  []string
	Notes     []string // how numbers were obtained: estimators, approximations, choices
}
