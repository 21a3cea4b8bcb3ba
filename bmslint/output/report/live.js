'use strict';
// Looks releases up in runs that were computed beforehand; the page stands without this, too.
// Kept to what a script of the page needs, so that it can be run without a page: see `lookup` and `answer`.

const REACHED_K = 0.001;

/** Undo the differences that a list is written as; whole numbers, so nothing is lost. */
function decoded(differences, unit) {
  let sum = 0;
  return differences.map((each) => (sum += each) / unit);
}

function between(start, end, before, after) {
  return before === after ? start : start + (end - start) * before / (before - after);
}

/** Give when a reading has been at the release for the hold time, and the coldest point then; or null. */
function lookup(run, sensor, release, hold) {
  const times = run.times, coldest = run.coldest, reading = run.readings[sensor];
  if (reading[0] >= run.inhibit) return {time: times[0], coldest: coldest[0]};
  const needed = release - REACHED_K;
  let since = null;
  for (let i = 0; i + 1 < times.length; i++) {
    const before = reading[i] - needed, after = reading[i + 1] - needed;
    if (since === null && after >= 0) since = between(times[i], times[i + 1], before, after);
    if (since === null) continue;
    const end = after >= 0 ? times[i + 1] : between(times[i], times[i + 1], before, after);
    if (end - since >= hold) return {time: since + hold, coldest: coldestAt(times, coldest, since + hold)};
    if (after < 0) since = null;
  }
  return null;
}

function coldestAt(times, coldest, time) {
  let i = times.findIndex((each) => each >= time) - 1;
  if (i < 0) i = 0;
  const share = (time - times[i]) / (times[i + 1] - times[i]);
  return coldest[i] + share * (coldest[i + 1] - coldest[i]);
}

/** Write a number with one decimal and a true minus. */
function oneDecimal(value) {
  const size = Math.floor(Math.abs(value) * 10 + 0.5) / 10;
  return (value < 0 && size > 0 ? '\u2212' : '') + size.toFixed(1).replace(/\.0$/, '');
}

function duration(seconds) {
  const minutes = Math.floor(seconds / 60 + 0.5);
  if (minutes < 120) return minutes + ' min';
  return Math.floor(minutes / 60) + ' h ' + (minutes % 60) + ' min';
}

/** Say what a release gives. */
function answer(run, found) {
  if (found === null) {
    return 'Charging is not released within ' + duration(run.times[run.times.length - 1]) + (run.chatters
      ? ', after which the heater has switched too often to be followed.' : '.');
  }
  const told = 'Charging is released after ' + duration(found.time) + '. The coldest point is then at ' +
    oneDecimal(found.coldest) + ' \u00b0C';
  if (run.least === null) return told + '; what the cells bear is not known.';
  const over = found.coldest - run.least;
  return told + (over >= 0 ? ', warm enough: ' + oneDecimal(over) + ' K above'
    : ', too cold: ' + oneDecimal(-over) + ' K below') + ' the limit of ' + oneDecimal(run.least) + ' \u00b0C.';
}

/** Give the curve over all releases as the path of a drawing. */
function path(run, sensor, hold, place) {
  let d = '', open = false;
  for (const release of run.releases) {
    const found = lookup(run, sensor, release, hold);
    if (found !== null) d += (open ? 'L' : 'M') + place.x(release).toFixed(1) + ' ' + place.y(found.coldest).toFixed(1);
    open = found !== null;
  }
  return d;
}

/** Read a run as the page carries it. */
function unpacked(run) {
  return Object.assign({}, run, {
    times: decoded(run.times, 10),
    coldest: decoded(run.coldest, 1000),
    readings: run.readings.map((each) => decoded(each, 1000)),
  });
}

function scaled(low, high, start, end) {
  return (value) => start + (end - start) * Math.min(Math.max((value - low) / (high - low), 0), 1);
}

function begin(block) {
  const runs = JSON.parse(block.querySelector('script').textContent).map(unpacked);
  const part = (name) => block.querySelector('[data-part=' + name + ']');
  const chosen = part('run'), release = part('release'), hold = part('hold');
  function follow(fresh) {
    const number = chosen === null ? 0 : chosen.selectedIndex, run = runs[number];
    for (const select of block.querySelectorAll('[data-sensors]')) {
      select.parentElement.hidden = Number(select.dataset.sensors) !== number;
    }
    if (fresh) {
      release.max = run.releases.length - 1;
      hold.max = run.holds.length - 1;
      release.value = run.release;
      hold.value = run.hold;
    }
    const sensor = block.querySelector('[data-sensors="' + number + '"]').selectedIndex;
    const degC = run.releases[Number(release.value)], seconds = run.holds[Number(hold.value)];
    const found = lookup(run, sensor, degC, seconds);
    part('release-told').textContent = oneDecimal(degC) + ' \u00b0C';
    part('hold-told').textContent = duration(seconds);
    release.setAttribute('aria-valuetext', oneDecimal(degC) + ' \u00b0C');
    hold.setAttribute('aria-valuetext', duration(seconds));
    part('answer').textContent = answer(run, found);
    block.querySelectorAll('[data-drawn]').forEach((drawn) => {
      drawn.toggleAttribute('hidden', Number(drawn.dataset.drawn) !== number);
    });
    const drawn = block.querySelector('[data-drawn="' + number + '"]'), at = run.frame;
    const place = {x: scaled(at[0], at[1], at[2], at[3]), y: scaled(at[4], at[5], at[6], at[7])};
    drawn.querySelector('[data-part=curve]').setAttribute('d', path(run, sensor, seconds, place));
    const dot = drawn.querySelector('[data-part=dot]');
    dot.setAttribute('visibility', found === null ? 'hidden' : 'visible');
    if (found !== null) {
      dot.setAttribute('cx', place.x(degC).toFixed(1));
      dot.setAttribute('cy', place.y(found.coldest).toFixed(1));
    }
  }
  block.addEventListener('input', (event) => follow(event.target === chosen));
  block.querySelector('.controls').hidden = false;
  follow(true);
}

/** Say what tables are where a narrow window shows them row by row, which some browsers forget. */
function tables() {
  const roles = {TABLE: 'table', THEAD: 'rowgroup', TBODY: 'rowgroup', TR: 'row', TD: 'cell'};
  document.querySelectorAll('.stack, .stack *').forEach((each) => {
    const role = each.tagName === 'TH' ? (each.scope === 'col' ? 'columnheader' : 'rowheader') : roles[each.tagName];
    if (role) each.setAttribute('role', role);
  });
}

if (typeof document !== 'undefined') {
  document.querySelectorAll('.try').forEach(begin);
  tables();
  // On paper everything stands open.
  addEventListener('beforeprint', () => document.querySelectorAll('details').forEach((each) => { each.open = true; }));
}
