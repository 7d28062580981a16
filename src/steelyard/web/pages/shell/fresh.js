// The day as the station has it now, without a reload: the page is fetched again and what is new in it taken over.

export async function fetchDay() {
  const response = await fetch(location.pathname, {
    credentials: "same-origin",
    cache: "no-store",
    signal: AbortSignal.timeout(8000),
  });
  if (!response.ok) return null;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const data = page.getElementById("page-data");
  return data && { day: JSON.parse(data.textContent), rigs: [...page.querySelectorAll("[data-rig]")] };
}
