// Before the first paint: light or dark as chosen on this machine, otherwise as the system has it.
const chosen = localStorage.getItem("trialcut-theme");
if (chosen === "light" || chosen === "dark") document.documentElement.dataset.theme = chosen;
document.documentElement.classList.add("scripted");
