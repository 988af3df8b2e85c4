// How times, positions and sizes are written.

export function clockWords(zone) {
  const parts = new Intl.DateTimeFormat("en-GB", {
    timeZone: zone, weekday: "short", day: "numeric", month: "short", year: "numeric",
    hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZoneName: "longOffset",
  });
  return (ms) => {
    const told = Object.fromEntries(parts.formatToParts(new Date(ms)).map((part) => [part.type, part.value]));
    const offset = told.timeZoneName.slice(3) || "+00:00"; // "GMT+01:00", or "GMT" alone
    const month = told.month.slice(0, 3);
    return {
      time: `${told.hour}:${told.minute}`,
      day: `${told.weekday} ${told.day} ${month} ${told.year} UTC${offset}`,
    };
  };
}

export function placeWords({ lat, lon, accuracy }) {
  const north = `${Math.abs(lat).toFixed(5)}${lat < 0 ? "S" : "N"}`;
  const east = `${Math.abs(lon).toFixed(5)}${lon < 0 ? "W" : "E"}`;
  return accuracy === undefined ? `${north} ${east}` : `${north} ${east}, within ${Math.ceil(accuracy)} m`;
}

export function photoWords(count) {
  return count === 1 ? "1 photo" : `${count} photos`;
}

export function sizeWords(bytes) {
  return bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
