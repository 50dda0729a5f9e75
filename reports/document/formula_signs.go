package document

// What the commands of a formula stand for. Only characters that the faces of a page have: a test of
// reports/pdf looks.

// letters are set in italics, as the letters of the alphabet are.
var letters = map[string]string{
	`\alpha`: "α", `\beta`: "β", `\gamma`: "γ", `\delta`: "δ", `\epsilon`: "ε", `\varepsilon`: "ε", `\zeta`: "ζ",
	`\eta`:   "η",
	`\theta`: "θ", `\iota`: "ι", `\kappa`: "κ", `\lambda`: "λ", `\mu`: "μ", `\nu`: "ν", `\xi`: "ξ", `\pi`: "π",
	`\rho`:   "ρ",
	`\sigma`: "σ", `\tau`: "τ", `\upsilon`: "υ", `\phi`: "φ", `\varphi`: "φ", `\chi`: "χ", `\psi`: "ψ", `\omega`: "ω",
}

// upright are capitals of the Greek alphabet, as TeX has them, and signs that take no space.
var upright = map[string]string{
	`\Gamma`: "Γ", `\Delta`: "Δ", `\Theta`: "Θ", `\Lambda`: "Λ", `\Xi`: "Ξ", `\Pi`: "Π", `\Sigma`: "Σ", `\Upsilon`: "Υ",
	`\Phi`: "Φ", `\Psi`: "Ψ", `\Omega`: "Ω",
	`\infty`: "∞", `\partial`: "∂", `\circ`: "°", `\degree`: "°", `\prime`: "′", `'`: "′", `\ldots`: "…", `\dots`: "…",
	`\%`: "%", `\#`: "#", `\$`: "$", `\&`: "&", `\{`: "{", `\}`: "}", `\_`: "_", `\|`: "‖",
	`\,`: " ", `\;`: " ", `\:`: " ", `\ `: " ", `\quad`: " ", `\qquad`: " ", `~`: "\u00A0", `\!`: "",
	`\langle`: "‹", `\rangle`: "›", `\lvert`: "|", `\rvert`: "|", `*`: "·", `,`: ", ",
}

// relations take a space on both sides.
var relations = map[string]string{
	`=`: "=", `+`: "+", `-`: "−", `<`: "<", `>`: ">", `\lt`: "<", `\gt`: ">", `\pm`: "±", `\times`: "×", `\cdot`: "·",
	`\div`: "÷",
	`\le`:  "≤", `\leq`: "≤", `\ge`: "≥", `\geq`: "≥", `\ne`: "≠", `\neq`: "≠", `\approx`: "≈", `\equiv`: "≡",
	`\sim`: "~",
	`\to`:  "→", `\rightarrow`: "→", `\leftarrow`: "←", `\leftrightarrow`: "↔", `\cap`: "∩",
}

// functions are names set upright.
var functions = []string{
	"sin", "cos", "tan", "cot", "arcsin", "arccos", "arctan", "sinh", "cosh", "tanh", "exp", "ln", "log", "lg", "min",
	"max", "arg",
}
