/*
 * Runs the Apps Script under Node: JSON {script, properties, calls: [{name, args}]} on
 * standard input, JSON list of results on standard output. Google's fetch is replaced by a
 * real request; it must answer before it returns, which Node's own cannot, so curl makes it.
 */
'use strict';

const {execFileSync} = require('child_process');
const fs = require('fs');
const vm = require('vm');

const job = JSON.parse(fs.readFileSync(0, 'utf8'));
const asked = [];

function fetch(url, options) {
  asked.push({url: url, headers: options.headers, body: options.payload || ''});
  const headers = Object.entries(options.headers).flatMap(([k, v]) => ['-H', k + ': ' + v]);
  if (options.payload) {
    headers.push('--request', options.method.toUpperCase(), '--data-binary', '@-');
    headers.push('-H', 'Content-Type: ' + options.contentType);
  }
  // Throws where nothing answers, as Google's does.
  const out = execFileSync('curl', ['--silent', '--show-error', '--noproxy', '*', '--max-time',
    '20', '--write-out', '\n%{http_code}', ...headers, url], {encoding: 'utf8', stdio: 'pipe', input: options.payload || ''});
  const cut = out.lastIndexOf('\n');
  return {
    getResponseCode: () => Number(out.slice(cut + 1)),
    getContentText: () => out.slice(0, cut),
  };
}

const world = {
  UrlFetchApp: {fetch: fetch},
  PropertiesService: {
    getScriptProperties: () => ({getProperty: (name) => job.properties[name] || null}),
  },
};
vm.createContext(world);
vm.runInContext(fs.readFileSync(job.script, 'utf8'), world, {filename: job.script});
const results = job.calls.map((call) => world[call.name](...call.args));
process.stdout.write(JSON.stringify({results: results, asked: asked}));
