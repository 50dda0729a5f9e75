package kernel

import "wedgework/kernel/wire"

// kernelInfo says what kernel and language this is.
func (k *Kernel) kernelInfo(*request) (any, error) {
	banner := k.Info.Banner
	if k.Notice != "" {
		banner += "\n" + k.Notice
	}
	return map[string]any{
		"status":                 "ok",
		"protocol_version":       wire.Version,
		"implementation":         k.Info.Name,
		"implementation_version": k.Info.Version,
		"language_info":          k.Info.Language,
		"banner":                 banner,
		"debugger":               false,
		"supported_features":     []string{"kernel subshells"}, // and no debugger
		"help_links":             append([]Link{}, k.Info.Links...),
	}, nil
}
