// Runs before anything is painted, so that a night page never flashes white in a dark truck.
try {
  const light = localStorage.getItem("crossload-light-shown");
  if (light) document.documentElement.dataset.light = light;
} catch { /* storage is barred: the system's preference stands */ }
