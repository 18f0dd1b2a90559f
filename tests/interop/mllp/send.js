// Sends the messages of a JSON file over one connection with simple-hl7's client, and prints each answer as that library
// has parsed it: a list of segments, each a list of fields as they stand.
//
// usage: send.js PORT FILE
const fs = require('fs');
const hl7 = require('simple-hl7');

const [, , port, file] = process.argv;
const messages = JSON.parse(fs.readFileSync(file, 'utf8'));
const client = hl7.Server.createTcpClient({ host: '127.0.0.1', port: Number(port), keepalive: true });
const answers = [];

function fields(answer) {
  const header = ['MSH', ...answer.header.fields.map((field) => field.toString(answer.header.delimiters))];
  const others = answer.segments.map((segment) => [
    segment.name, ...segment.fields.map((field) => field.toString(answer.header.delimiters))]);
  return [header, ...others];
}

function next() {
  if (answers.length === messages.length) {
    client.close();
    console.log(JSON.stringify(answers));
    return;
  }
  client.send(messages[answers.length], (problem, answer) => {
    if (problem) throw problem;
    answers.push(fields(answer));
    setImmediate(next); // the library is ready for the next one only after this
  });
}

next();
