/*
 * Functions for cells that ask a jointgeo service.
 *
 * JG_VALUE(service, joint_type, want, pick, name, value, ...)   one value
 * JG_TABLE(service, joint_type, want, rows, name, value, ...)   a table with a heading
 *
 * service     address of the service, e.g. https://joints.example.org
 * joint_type  name of a joint type, as the service lists them
 * want        "settings" or "feasibility"
 * pick        dotted path of the value, e.g. parts.0.setups.0.swivel_deg
 * rows        rows to fill, the heading included: fewer are filled up with empty text, more
 *             are announced in the last row; 0 = as many as there are
 * name, value flat list of the joint's parameters, of fixture and hand, and of part and setup
 *             where only some rows are wanted; in place of any two of them a range of two
 *             columns, names beside values. A pair whose name or value is empty is left out,
 *             so that the parameter's default holds.
 *
 * A number comes as a number, everything else as text. A text that begins with # is the
 * reason why there is no answer. Millimetres and degrees; any x_mm may be given as x_in.
 * Numbers are sent and read with a decimal point whatever the sheet's language is.
 *
 * To install: Extensions, Apps Script, paste this file, save. The request is sent from
 * Google's machines, not from yours, so the service must be reachable from there, and a
 * service that is wants a token. Project Settings, Script Properties: JG_SERVICE holds the
 * address that the token is meant for, JG_TOKEN the token. It is sent to that address
 * only: anyone who may edit the sheet can write another one into a cell.
 */

/** @const {number} Longest address that Google's fetch takes, characters. */
var JG_LONGEST = 2082;

/**
 * The only place that speaks HTTP.
 *
 * @param {string} service root of the service, without a slash at its end
 * @param {string} url what to ask
 * @return {string} the text of the answer, or a text that begins with #
 */
function jgFetch_(service, url) {
  var properties = PropertiesService.getScriptProperties();
  var headers = {};
  if (properties.getProperty('JG_SERVICE') === service && properties.getProperty('JG_TOKEN')) {
    headers.Authorization = 'Bearer ' + properties.getProperty('JG_TOKEN');
  }
  var options = {headers: headers, muteHttpExceptions: true, followRedirects: false};
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
 * One value of a jointgeo service's answer.
 *
 * @param {string} service Address of the service.
 * @param {string} joint_type Name of a joint type.
 * @param {string} want "settings" or "feasibility".
 * @param {string} pick Dotted path of the value.
 * @param {...*} pairs Names and values in turn, or ranges of two columns.
 * @return The value; a text that begins with # is the reason why there is none.
 * @customfunction
 */
function JG_VALUE(service, joint_type, want, pick, ...pairs) {
  var extra = '&shape=value&pick=' + encodeURIComponent(jgText_(pick));
  return jgCell_(jgAsk_(service, joint_type, want, extra, pairs));
}

/**
 * A table of a jointgeo service's answer, with a heading.
 *
 * @param {string} service Address of the service.
 * @param {string} joint_type Name of a joint type.
 * @param {string} want "settings" or "feasibility".
 * @param {number} rows Rows to fill, 0 for as many as there are.
 * @param {...*} pairs Names and values in turn, or ranges of two columns.
 * @return The table; a text that begins with # is the reason why there is none.
 * @customfunction
 */
function JG_TABLE(service, joint_type, want, rows, ...pairs) {
  var reply = jgAsk_(service, joint_type, want, '&shape=csv', pairs);
  if (reply.charAt(0) === '#') {
    return reply;
  }
  // The service's tables hold bare numbers and names; anything else came from elsewhere.
  if (reply.indexOf('"') >= 0 || reply.slice(-2) !== '\r\n') {
    return '# the answer is not a table of a jointgeo service';
  }
  var table = reply.slice(0, -2).split('\r\n').map(function (line) {
    return line.split(',').map(jgCell_);
  });
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

function jgAsk_(service, joint_type, want, extra, pairs) {
  var root = jgText_(service).replace(/\/$/, '');
  if (!/^https?:\/\//.test(root)) {
    return '# the address of the service must begin with http:// or https://';
  }
  var query = jgQuery_(pairs);
  if (query.charAt(0) === '#') {
    return query;
  }
  var url = root + '/v1/joint-types/' + encodeURIComponent(jgText_(joint_type)) + '/' +
    encodeURIComponent(jgText_(want)) + '?cells=1' + extra + query;
  if (url.length > JG_LONGEST) {
    return '# the question has ' + url.length + ' characters, at most ' + JG_LONGEST + ' can be sent';
  }
  return jgFetch_(root, url);
}

/** The pairs as the tail of a query, or a text that begins with # and says what is wrong. */
function jgQuery_(pairs) {
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
  var query = '';
  for (var j = 0; j < flat.length; j += 2) {
    var name = jgText_(flat[j]);
    var content = jgText_(flat[j + 1]);
    if (name !== '' && content !== '') {
      query += '&' + encodeURIComponent(name) + '=' + encodeURIComponent(content);
    }
  }
  return query;
}

/** A cell's content as the service reads it: numbers with a point, no blanks at the ends. */
function jgText_(content) {
  return content === null || content === undefined ? '' : String(content).trim();
}

/** A piece of an answer as a cell's content. */
function jgCell_(reply) {
  return /^-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?$/.test(reply) ? Number(reply) : reply;
}
