/*
 * Functions for cells that ask a jointgeo service.
 *
 * JG_VALUE(service, joint_type, path, name, value, ...)          values of one joint
 * JG_TABLE(service, joint_type, want, rows, name, value, ...)    a table with a heading
 * JG_LIST(service, paths, joints, name, value, ...)              values of many joints, a row each
 * JG_PIECE(service, piece_type, want, rows, name, value, ...)    a table of a whole piece
 *
 * service     address of the service, e.g. https://joints.example.org
 * joint_type  name of a joint type, as the service lists them
 * path        part, number of the clamping counted from 1, quantity: leg.1.swivel_deg; what holds
 *             for the joint alone: status. JG_TABLE with "paths" lists them all. A row or a column
 *             of paths gives a row or a column of values, in one request
 * want        "settings" for the cuts, "feasibility" for the checks, "paths" for what can be asked
 * rows        rows to fill, the heading included: fewer are filled up with empty text, more
 *             are announced in the last row; 0 = as many as there are
 * paths       one path, or a range of them: a column of the answer each
 * joints      a range with names of parameters in its first row and a joint in each further one;
 *             a column without a name is yours and is not read. joint_type, fixture and hand may
 *             be columns too. An empty row has an empty answer
 * piece_type  name of a piece type; of JG_PIECE, want is "cut-list", "settings" or "feasibility"
 * name, value flat list of the joint's parameters, of fixture and hand, for JG_TABLE of part and
 *             setup, and "heading", "words" for headings in words; in place of any two of them a
 *             range of two columns, names beside values. A pair whose name or value is empty is
 *             left out, so that the parameter's default holds. For JG_LIST: what is the same in
 *             all rows
 *
 * A number comes as a number, everything else as text. A text that begins with # is the
 * reason why there is no answer; in a list each row has its own. Millimetres and degrees; any
 * x_mm may be given as x_in. Numbers are sent and read with a decimal point whatever the sheet's
 * language is. JG_LIST sends one request for a thousand rows, which also spares the daily quota.
 *
 * To install: Extensions, Apps Script, paste this file, save. The request is sent from
 * Google's machines, not from yours, so the service must be reachable from there, and a
 * service that is wants a token. Project Settings, Script Properties: JG_SERVICE holds the
 * address that the token is meant for, JG_TOKEN the token. It is sent to that address
 * only: anyone who may edit the sheet can write another one into a cell.
 */

/** @const {number} Longest address that Google's fetch takes, characters. */
var JG_LONGEST = 2082;

/** @const {number} Rows that one request takes. */
var JG_ROWS = 1000;

/**
 * The only place that speaks HTTP.
 *
 * @param {string} service root of the service, without a slash at its end
 * @param {string} url what to ask
 * @param {Object=} body what to post as JSON; a GET where there is none
 * @return {string} the text of the answer, or a text that begins with #
 */
function jgFetch_(service, url, body) {
  var properties = PropertiesService.getScriptProperties();
  var headers = {};
  if (properties.getProperty('JG_SERVICE') === service && properties.getProperty('JG_TOKEN')) {
    headers.Authorization = 'Bearer ' + properties.getProperty('JG_TOKEN');
  }
  var options = {headers: headers, muteHttpExceptions: true, followRedirects: false};
  if (body) {
    options.method = 'post';
    options.contentType = 'application/json';
    options.payload = JSON.stringify(body);
  }
  try {
    var answer = UrlFetchApp.fetch(url, options);
    if (answer.getResponseCode() === 200) {
      return answer.getContentText('UTF-8');
    }
    return '# the service answered with status ' + answer.getResponseCode();
  } catch (error) {
    return '# no answer from ' + service + ': is the service running there, and reachable ' +
      'from outside? Start it with: jointgeo serve';
  }
}

/**
 * Values of one joint.
 *
 * @param {string} service Address of the service.
 * @param {string} joint_type Name of a joint type.
 * @param {string} path Path of the value, or a row or column of paths.
 * @param {...*} pairs Names and values in turn, or ranges of two columns.
 * @return The value, or as many as there are paths; a text that begins with # is the reason why
 *     there is none.
 * @customfunction
 */
function JG_VALUE(service, joint_type, path, ...pairs) {
  var paths = Array.isArray(path) ? path : [[path]];
  var picks = paths.map(function (row) {
    return row.map(function (one) { return '&pick=' + encodeURIComponent(jgText_(one)); }).join('');
  }).join('');
  var reply = jgAsk_(service, 'joint-types', joint_type, 'values', picks, pairs);
  var cells = reply.split('\t');
  var count = paths.length * paths[0].length;
  var spread = paths.map(function (row, r) {
    return row.map(function (_, c) {
      return jgCell_(cells.length === count ? cells[r * row.length + c] : reply);
    });
  });
  return Array.isArray(path) ? spread : spread[0][0];
}

/**
 * A table of a jointgeo service's answer, with a heading.
 *
 * @param {string} service Address of the service.
 * @param {string} joint_type Name of a joint type.
 * @param {string} want "settings", "feasibility" or "paths".
 * @param {number} rows Rows to fill, 0 for as many as there are.
 * @param {...*} pairs Names and values in turn, or ranges of two columns.
 * @return The table; a text that begins with # is the reason why there is none.
 * @customfunction
 */
function JG_TABLE(service, joint_type, want, rows, ...pairs) {
  return jgRectangle_(jgAsk_(service, 'joint-types', joint_type, want, '&shape=tsv', pairs), rows);
}

/**
 * A table of a whole piece, with a heading.
 *
 * @param {string} service Address of the service.
 * @param {string} piece_type Name of a piece type.
 * @param {string} want "cut-list", "settings" or "feasibility".
 * @param {number} rows Rows to fill, 0 for as many as there are.
 * @param {...*} pairs Names and values in turn, or ranges of two columns.
 * @return The table; a text that begins with # is the reason why there is none.
 * @customfunction
 */
function JG_PIECE(service, piece_type, want, rows, ...pairs) {
  return jgRectangle_(jgAsk_(service, 'piece-types', piece_type, want, '&shape=tsv', pairs), rows);
}

/** A table of an answer, cut off or filled up to the wanted number of rows. */
function jgRectangle_(reply, rows) {
  if (reply.charAt(0) === '#') {
    return reply;
  }
  if (reply.indexOf('\t') < 0) {
    return '# the answer is not a table of a jointgeo service';
  }
  var table = jgLines_(reply);
  var wanted = Number(rows) || table.length;
  var empty = table[0].map(function () { return ''; });
  if (table.length > wanted) {
    // A pass that is not shown must not be missed.
    var more = ['# ' + (table.length - wanted + 1) + ' more rows'].concat(empty.slice(1));
    table = table.slice(0, wanted - 1).concat([more]);
  }
  while (table.length < wanted) {
    table.push(empty);
  }
  return table;
}

/**
 * Values of many joints, a row each, in one request for a thousand of them.
 *
 * @param {string} service Address of the service.
 * @param {string} paths Path of a value, or a range of paths: a column of the answer each.
 * @param {Array} joints Range with names in its first row and a joint in each further one.
 * @param {...*} pairs What is the same in all rows: names and values, or ranges of two columns.
 * @return The rows; a text that begins with # is the reason why there is no value.
 * @customfunction
 */
function JG_LIST(service, paths, joints, ...pairs) {
  var root = jgRoot_(service);
  var common = jgFlat_(pairs);
  var wanted = [].concat.apply([], Array.isArray(paths) ? paths : [[paths]]).map(jgText_);
  if (root.charAt(0) === '#') {
    return root;
  }
  if (typeof common === 'string') {
    return common;
  }
  if (wanted.indexOf('') >= 0) {
    return '# a path must be given, or a range of paths without empty cells';
  }
  if (!Array.isArray(joints)) {
    return '# the joints must be a range with names in its first row';
  }
  var names = joints[0].map(jgText_);
  var rows = joints.slice(1).map(function (row) {
    return row.map(function (content, c) { return names[c] === '' ? null : jgJson_(content); });
  });
  // Rows below the last joint are not sent, so that whole columns may be given.
  var last = rows.length;
  while (last && rows[last - 1].every(function (content) { return content === null; })) {
    last -= 1;
  }
  var same = {};
  common.forEach(function (pair) { same[pair[0]] = jgJson_(pair[1]); });
  var out = [];
  for (var at = 0; at < last; at += JG_ROWS) {
    var lot = rows.slice(at, Math.min(last, at + JG_ROWS));
    var body = {names: names, rows: lot, wanted: wanted, common: same};
    var reply = jgFetch_(root, root + '/v1/list?cells=1', body);
    var lines = jgLines_(reply);
    if (lines.length !== lot.length) {
      // What is wrong with the list as a whole comes as one line.
      return reply.charAt(0) === '#' ? reply : '# the answer is not one of a jointgeo service';
    }
    if (lines.length === 1 && lines[0].length < wanted.length) {
      return reply;  // one row, and the list as a whole is at fault
    }
    out = out.concat(lines);
  }
  while (out.length < Math.max(1, rows.length)) {
    out.push(wanted.map(function () { return ''; }));
  }
  return out;
}

/** The address without a slash at its end, or a text that begins with #. */
function jgRoot_(service) {
  var root = jgText_(service).replace(/\/$/, '');
  return /^https?:\/\//.test(root) ? root
    : '# the address of the service must begin with http:// or https://';
}

/** What is wanted of one type; kinds: "joint-types" or "piece-types". */
function jgAsk_(service, kinds, type, want, extra, pairs) {
  var root = jgRoot_(service);
  var query = jgQuery_(pairs);
  if (root.charAt(0) === '#' || query.charAt(0) === '#') {
    return root.charAt(0) === '#' ? root : query;
  }
  var url = root + '/v1/' + kinds + '/' + encodeURIComponent(jgText_(type)) + '/' +
    encodeURIComponent(jgText_(want)) + '?cells=1' + extra + query;
  if (url.length > JG_LONGEST) {
    return '# the question has ' + url.length + ' characters, at most ' + JG_LONGEST + ' can be sent';
  }
  return jgFetch_(root, url);
}

/** The pairs whose name and value are there, or a text that begins with # and says what is wrong. */
function jgFlat_(pairs) {
  var flat = [];
  for (var i = 0; i < pairs.length; i++) {
    var item = pairs[i];
    if (Array.isArray(item)) {
      if (flat.length % 2 || item[0].length !== 2) {
        return '# names and values must come in pairs; a range needs two columns';
      }
      item.forEach(function (row) { flat.push(row[0], row[1]); });
    } else {
      flat.push(item);
    }
  }
  if (flat.length % 2) {
    return '# names and values must come in pairs; the last name has no value';
  }
  var out = [];
  for (var j = 0; j < flat.length; j += 2) {
    if (jgText_(flat[j]) !== '' && jgText_(flat[j + 1]) !== '') {
      out.push([jgText_(flat[j]), flat[j + 1]]);
    }
  }
  return out;
}

/** The same as the tail of a query. */
function jgQuery_(pairs) {
  var flat = jgFlat_(pairs);
  return typeof flat === 'string' ? flat : flat.map(function (pair) {
    return '&' + encodeURIComponent(pair[0]) + '=' + encodeURIComponent(jgText_(pair[1]));
  }).join('');
}

/** A cell's content as the service reads it: numbers with a point, no blanks at the ends. */
function jgText_(content) {
  return content === null || content === undefined ? '' : String(content).trim();
}

/** A cell's content in JSON; nothing, and a text of blanks alone, as null. */
function jgJson_(content) {
  if (typeof content === 'number' || typeof content === 'boolean') {
    return content;
  }
  return jgText_(content) === '' ? null : jgText_(content);
}

/** Lines with tabs as rows of cells. */
function jgLines_(reply) {
  return reply.split('\n').map(function (line) { return line.split('\t').map(jgCell_); });
}

/** A piece of an answer as a cell's content; the service writes ' before a text like a number. */
function jgCell_(reply) {
  if (/^-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?$/.test(reply)) {
    return Number(reply);
  }
  return reply.charAt(0) === "'" ? reply.slice(1) : reply;
}
