BEGIN TRANSACTION;
CREATE TABLE addresses (
	address TEXT NOT NULL, 
	person TEXT NOT NULL, 
	state TEXT NOT NULL, 
	PRIMARY KEY (address)
)
 STRICT

;
INSERT INTO "addresses" VALUES('sms:+447700900003','C1','enrolled');
INSERT INTO "addresses" VALUES('sms:+447700900001','R1','enrolled');
INSERT INTO "addresses" VALUES('web:r1','R1','enrolled');
INSERT INTO "addresses" VALUES('sms:+447700900002','R2','enrolled');
INSERT INTO "addresses" VALUES('sms:+447700900004','S1','enrolled');
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE alerts (
	id TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	state TEXT NOT NULL, 
	raised_us INTEGER NOT NULL, 
	doc TEXT NOT NULL, 
	PRIMARY KEY (id)
)
 STRICT

;
INSERT INTO "alerts" VALUES('A12','entry_stop','R1','open',1791796260000000,'{"alert":"A12","alert_kind":"entry_stop","level":"critical","sample":null,"subject":"R1","told":["S1"]}');
CREATE TABLE cases (
	name TEXT NOT NULL, 
	state TEXT NOT NULL, 
	doc TEXT NOT NULL, 
	PRIMARY KEY (name)
)
 STRICT

;
INSERT INTO "cases" VALUES('CH-014','open','{"exercise":false,"kits":["A"],"name":"CH-014","opened":"2026-10-12T08:00:00+01:00","opened_us":1791788400000000,"people":["R1","R2"],"safety":{},"state":"open","stops":{"R1":1791796260000000},"told":{}}');
CREATE TABLE codes (
	commitment TEXT NOT NULL, 
	purpose TEXT NOT NULL, 
	address TEXT NOT NULL, 
	expires_us INTEGER NOT NULL, 
	used_us INTEGER, 
	PRIMARY KEY (commitment)
)
 STRICT

;
INSERT INTO "codes" VALUES('c22898278b63f71ca3e757fbb91d0f88f8dcc36d407c0667a34e49f91684051b','sign_in','web:r1',1796180751057937,NULL);
CREATE TABLE conversations (
	address TEXT NOT NULL, 
	doc TEXT NOT NULL, 
	touched_us INTEGER NOT NULL, 
	PRIMARY KEY (address)
)
 STRICT

;
INSERT INTO "conversations" VALUES('sms:+447700900001','{"address":"sms:+447700900001","case":"CH-014","sample":"CH-014#8","waiting":["CH-014#8"],"shown_us":1791796020000000}',1791796260000000);
INSERT INTO "conversations" VALUES('sms:+447700900003','{"address":"sms:+447700900003"}',1791796140000000);
INSERT INTO "conversations" VALUES('sms:+447700900099','{"address":"sms:+447700900099","stray_us":1791796200000000}',1791796200000000);
CREATE TABLE due (
	kind TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	due_us INTEGER NOT NULL, 
	state TEXT NOT NULL, 
	done_us INTEGER, 
	PRIMARY KEY (kind, subject, due_us)
)
 STRICT

;
INSERT INTO "due" VALUES('midnight_heads','2026-10-12',1791846000000000,'done',1791846000000000);
INSERT INTO "due" VALUES('midnight_heads','2026-10-13',1791932400000000,'done',1791932400000000);
CREATE TABLE entries (
	chain TEXT NOT NULL, 
	seq INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	received_us INTEGER NOT NULL, 
	hash TEXT NOT NULL, 
	text TEXT NOT NULL, 
	PRIMARY KEY (chain, seq)
)
 STRICT

;
INSERT INTO "entries" VALUES('unit',1,'UnitSet',1795575951057937,'ecfde7825faf3c38ad9092a21bef49b23ec6d0b16457c16b68cc6bd0e31a38fe','{"author":"","body":{"area":{"east":-19.8,"north":47.4,"south":47.2,"west":-20.1},"name":"Corrowby Haven","region":"GB","sample":null,"zone":"Europe/Lisbon"},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"UnitSet","message":null,"previous":"0000000000000000000000000000000000000000000000000000000000000000","received_us":1795575951057937,"said_us":1795575951057937,"seq":1}');
INSERT INTO "entries" VALUES('unit',2,'PersonSet',1795575951057937,'944a8ef435db4be276de1df76237bd9a8008f3e7e32767d6bd97114df45790fe','{"author":"","body":{"active":true,"addresses":["38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","84df8b4278df949732797cefb1bbace533669ab41a3666d8dcf9157396bd2ac8"],"gloves":null,"language":null,"name":"R1","roles":["responder"],"sample":null},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"PersonSet","message":null,"previous":"ecfde7825faf3c38ad9092a21bef49b23ec6d0b16457c16b68cc6bd0e31a38fe","received_us":1795575951057937,"said_us":1795575951057937,"seq":2}');
INSERT INTO "entries" VALUES('unit',3,'PersonSet',1795575951057937,'e97d4e09cbabadb87cf4896498ff56d57d6c675cce6fc50b4048b7cf72ed9015','{"author":"","body":{"active":true,"addresses":["8457880d6a1a044df296c98f75f9906246b35781a37e5e1678a47c4b1e10847d"],"gloves":null,"language":null,"name":"R2","roles":["responder"],"sample":null},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"PersonSet","message":null,"previous":"944a8ef435db4be276de1df76237bd9a8008f3e7e32767d6bd97114df45790fe","received_us":1795575951057937,"said_us":1795575951057937,"seq":3}');
INSERT INTO "entries" VALUES('unit',4,'PersonSet',1795575951057937,'b8bf6b3494d2a81bbd2f3f18278ded533a701d0b4834868fbcc92de14af8ef95','{"author":"","body":{"active":true,"addresses":["74d20febe2d071f5e7f06180244a8e60dfc7f0e5ef73f525ef73c9909baace05"],"gloves":null,"language":null,"name":"C1","roles":["custodian"],"sample":null},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"PersonSet","message":null,"previous":"e97d4e09cbabadb87cf4896498ff56d57d6c675cce6fc50b4048b7cf72ed9015","received_us":1795575951057937,"said_us":1795575951057937,"seq":4}');
INSERT INTO "entries" VALUES('unit',5,'PersonSet',1795575951057937,'3a19f7f381541d2ce6a478e24890164219a5b44911d7c78cf585190f4e5ff17a','{"author":"","body":{"active":true,"addresses":["9036a3b0c7bf5e7ce7acaa49ec2825b0ce4a2c47483a349662d57d4133be0398"],"gloves":null,"language":null,"name":"S1","roles":["supervisor"],"sample":null},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"PersonSet","message":null,"previous":"b8bf6b3494d2a81bbd2f3f18278ded533a701d0b4834868fbcc92de14af8ef95","received_us":1795575951057937,"said_us":1795575951057937,"seq":5}');
INSERT INTO "entries" VALUES('unit',6,'KitSet',1795575951057937,'9d6ae9883a4cf9bdcf1a2b6f30396a2d5291400093566a165958f206dbb7b54f','{"author":"","body":{"name":"A","numbers":[1,19],"sample":null,"seals":["5101","5121"],"training":false},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"KitSet","message":null,"previous":"3a19f7f381541d2ce6a478e24890164219a5b44911d7c78cf585190f4e5ff17a","received_us":1795575951057937,"said_us":1795575951057937,"seq":6}');
INSERT INTO "entries" VALUES('unit',7,'CoolerSet',1795575951057937,'9438e058c8497c54a42b25fdd7f29698bda56979b98887e7ec12365206d250a9','{"author":"","body":{"cooler_class":"50 L ordinary","name":"M","sample":null},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"CoolerSet","message":null,"previous":"9d6ae9883a4cf9bdcf1a2b6f30396a2d5291400093566a165958f206dbb7b54f","received_us":1795575951057937,"said_us":1795575951057937,"seq":7}');
INSERT INTO "entries" VALUES('CH-014',1,'CaseOpened',1795575951057937,'709bc8cf14e4e03d7d67177ed0382c99f0b592d7d9a3b5944988e6620dbfb4a1','{"author":"","body":{"cites":[],"exercise":false,"kits":["A"],"name":"CH-014","opened":"2026-10-12T08:00:00+01:00","people":["R1","R2"],"sample":null,"told":{}},"body_version":1,"chain":"CH-014","channel":"setup","event":"2026-10-12T08:00:00+01:00","kind":"CaseOpened","message":null,"previous":"0000000000000000000000000000000000000000000000000000000000000000","received_us":1795575951057937,"said_us":1791788400000000,"seq":1}');
INSERT INTO "entries" VALUES('unit',8,'LinkIssued',1795575951057937,'2555db9676264c68cf16600b6f0d3ac9af292c5ea5e136c1037033c841495a0f','{"author":"","body":{"address":"84df8b4278df949732797cefb1bbace533669ab41a3666d8dcf9157396bd2ac8","sample":null},"body_version":1,"chain":"unit","channel":"setup","event":null,"kind":"LinkIssued","message":null,"previous":"9438e058c8497c54a42b25fdd7f29698bda56979b98887e7ec12365206d250a9","received_us":1795575951057937,"said_us":1795575951057937,"seq":8}');
INSERT INTO "entries" VALUES('CH-014',2,'SampleDeclared',1791795780000000,'b90f258eee863fdd267469aa34edea5741a2cd582819e90bb4caac278517adca','{"author":"R1","body":{"apart_from":null,"number":"03","number_key":"3","sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"SampleDeclared","message":"5bc325054e5883eddcd90c5f9c32189fba4f1500b9764cfeb10aa6532c264518","previous":"709bc8cf14e4e03d7d67177ed0382c99f0b592d7d9a3b5944988e6620dbfb4a1","received_us":1791795780000000,"said_us":1791795780000000,"seq":2}');
INSERT INTO "entries" VALUES('CH-014',3,'SampleTold',1791795780000000,'40436f239ea345fd8612f7b9add4e67dcb10274b8c63d4075ae9321ef2977526','{"author":"R1","body":{"facts":[{"copied_from":null,"field":"position","raw":"47.2830N 19.9510W","value":{"lat":47.283,"lon":-19.951,"source":"typed"}},{"copied_from":null,"field":"kind","raw":"spill","value":"spill"},{"copied_from":null,"field":"matrix","raw":"sheen","value":"sheen"},{"copied_from":null,"field":"time","raw":"1002","value":{"at":"2026-10-12T10:02:00+01:00","at_us":1791795720000000,"estimate":false,"offset_derived":true,"offset_minutes":60}},{"copied_from":null,"field":"method","raw":"pad","value":"pad"},{"copied_from":null,"field":"seal","raw":"5103","value":{"number":"5103","tape":null}}],"sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":"2026-10-12T10:02:00+01:00","kind":"SampleTold","message":"5bc325054e5883eddcd90c5f9c32189fba4f1500b9764cfeb10aa6532c264518","previous":"b90f258eee863fdd267469aa34edea5741a2cd582819e90bb4caac278517adca","received_us":1791795780000000,"said_us":1791795780000000,"seq":3}');
INSERT INTO "entries" VALUES('CH-014',4,'SampleTold',1791795810000000,'e5039a3257ef7f683c639647b81e9fbc5ffc64066bc4e253216ca8f7222bc99b','{"author":"R1","body":{"facts":[{"copied_from":null,"field":"cooler","raw":"M","value":"M"},{"copied_from":null,"field":"cooler_celsius","raw":"4.4C","value":{"celsius":4.4,"unit_derived":false}}],"sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"SampleTold","message":"40ecf5a71db4b301c5122438e30515ef22aeed7841617df50073e89aba06b24a","previous":"40436f239ea345fd8612f7b9add4e67dcb10274b8c63d4075ae9321ef2977526","received_us":1791795810000000,"said_us":1791795810000000,"seq":4}');
INSERT INTO "entries" VALUES('unit',9,'CoolerRead',1791795810000000,'1a828056f9d41464f5474ab5ed901bf7b42002df9b6146964cdd16b171461a9f','{"author":"R1","body":{"at":"2026-10-12T09:03:30Z","at_us":1791795810000000,"celsius":4.4,"cooler":"M","for_sample":"CH-014#2","ice_left":null,"raw":"4.4C","sample":null,"unit_derived":false},"body_version":1,"chain":"unit","channel":"sms","event":"2026-10-12T09:03:30Z","kind":"CoolerRead","message":"40ecf5a71db4b301c5122438e30515ef22aeed7841617df50073e89aba06b24a","previous":"2555db9676264c68cf16600b6f0d3ac9af292c5ea5e136c1037033c841495a0f","received_us":1791795810000000,"said_us":1791795810000000,"seq":9}');
INSERT INTO "entries" VALUES('CH-014',5,'PhotoKept',1791795840000000,'2700c3e935f0deedee12836b10043ac38600e52a7eb4d9aa9be2ee24315011b3','{"author":"R1","body":{"caption":"03","photo":{"camera_offset":null,"camera_position":null,"camera_time":null,"media_type":"image/jpeg","name":"jar.jpg","problem":null,"sha256":"b3de5401502cf067704c591956c8eabed60b8053ee53e5c5fcd80e46bf717fbd","size":629},"sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"PhotoKept","message":"cab97e0398fd77e0c7bbbfbb17cbbadd96e7d99eda0102095f18a3ead8ae67ff","previous":"e5039a3257ef7f683c639647b81e9fbc5ffc64066bc4e253216ca8f7222bc99b","received_us":1791795840000000,"said_us":1791795840000000,"seq":5}');
INSERT INTO "entries" VALUES('CH-014',6,'SampleCorrected',1791795900000000,'bf25d9b74cd151e74f49c1ff15d13b7095f7101fa80787969b86b1636e329dbe','{"author":"R1","body":{"fact":{"copied_from":null,"field":"seal","raw":"5104","value":{"number":"5104","tape":null}},"field":"seal","old":"5103","sample":"CH-014#2","sort":"correction","why":"misread"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"SampleCorrected","message":"83806dbc1822de39ddf814e063df0eec32ca080d337250c19410a4ffbccaf4b1","previous":"2700c3e935f0deedee12836b10043ac38600e52a7eb4d9aa9be2ee24315011b3","received_us":1791795900000000,"said_us":1791795900000000,"seq":6}');
INSERT INTO "entries" VALUES('CH-014',7,'SampleConfirmed',1791795960000000,'abdf2551bc53f206edf08ba8fc38c5c2b60b2b85245816be3922a9259db2f81d','{"author":"R1","body":{"sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"SampleConfirmed","message":"f320e8908c806ff4886e327725cdda70d7673d54b2a940cf595c8f48cd57528c","previous":"bf25d9b74cd151e74f49c1ff15d13b7095f7101fa80787969b86b1636e329dbe","received_us":1791795960000000,"said_us":1791795960000000,"seq":7}');
INSERT INTO "entries" VALUES('CH-014',8,'SampleDeclared',1791796020000000,'79a6e7c07b3befd08323efdc4d659404422731373f213864bfd53839668023eb','{"author":"R1","body":{"apart_from":null,"number":"04","number_key":"4","sample":"CH-014#8"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"SampleDeclared","message":"17bf017f309614d8d2149736b1594ffcd935a048a02aa3f6348daace89cc64fb","previous":"abdf2551bc53f206edf08ba8fc38c5c2b60b2b85245816be3922a9259db2f81d","received_us":1791796020000000,"said_us":1791796020000000,"seq":8}');
INSERT INTO "entries" VALUES('CH-014',9,'SampleTold',1791796020000000,'6c4840f81931f6666fae759ade200666874b6f53b14d489b9aa888283d73e91c','{"author":"R1","body":{"facts":[{"copied_from":null,"field":"position","raw":"47.8830N 20.0W","value":{"lat":47.883,"lon":-20,"source":"typed"}},{"copied_from":null,"field":"kind","raw":"spill","value":"spill"},{"copied_from":null,"field":"fill","raw":"50%","value":{"percent":50}},{"copied_from":null,"field":"cooler","raw":"M","value":"M"},{"copied_from":null,"field":"cooler_celsius","raw":"5C","value":{"celsius":5,"unit_derived":false}}],"sample":"CH-014#8"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"SampleTold","message":"17bf017f309614d8d2149736b1594ffcd935a048a02aa3f6348daace89cc64fb","previous":"79a6e7c07b3befd08323efdc4d659404422731373f213864bfd53839668023eb","received_us":1791796020000000,"said_us":1791796020000000,"seq":9}');
INSERT INTO "entries" VALUES('unit',10,'CoolerRead',1791796020000000,'44590ab0830dc852eb2eef692404fbe9fe196e0ab73ea376a2c66174fa42ce23','{"author":"R1","body":{"at":"2026-10-12T09:07:00Z","at_us":1791796020000000,"celsius":5,"cooler":"M","for_sample":"CH-014#8","ice_left":null,"raw":"5C","sample":null,"unit_derived":false},"body_version":1,"chain":"unit","channel":"sms","event":"2026-10-12T09:07:00Z","kind":"CoolerRead","message":"17bf017f309614d8d2149736b1594ffcd935a048a02aa3f6348daace89cc64fb","previous":"1a828056f9d41464f5474ab5ed901bf7b42002df9b6146964cdd16b171461a9f","received_us":1791796020000000,"said_us":1791796020000000,"seq":10}');
INSERT INTO "entries" VALUES('CH-014',10,'QueryRaised',1791796020000000,'247abff933cfb36cc69b583372a2ed40929bf322c840a3d1e326febf65e5e074','{"author":"R1","body":{"field":"position","query":"Q1","rule":"area+speed","sample":"CH-014#8","text":"Its place lies 54 km north of the area. Its place lies 67 km from 03 in 5 min."},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"QueryRaised","message":"17bf017f309614d8d2149736b1594ffcd935a048a02aa3f6348daace89cc64fb","previous":"6c4840f81931f6666fae759ade200666874b6f53b14d489b9aa888283d73e91c","received_us":1791796020000000,"said_us":1791796020000000,"seq":10}');
INSERT INTO "entries" VALUES('CH-014',11,'NoteMade',1791796080000000,'4a11ec1b437d97ebc2bd4b7dd73e0c3de37d07facb08fa33f3b6bbcf0e2f970a','{"author":"R1","body":{"sample":null,"words":"the tide turned"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"NoteMade","message":"c9e6b1c2c95643a37fa614f765e217f3ab94a2a398184e8a9e4c2499257d4c8e","previous":"247abff933cfb36cc69b583372a2ed40929bf322c840a3d1e326febf65e5e074","received_us":1791796080000000,"said_us":1791796080000000,"seq":11}');
INSERT INTO "entries" VALUES('CH-014',12,'EvidenceNumberAsked',1791796110000000,'2a20c0b1393c94e404535b6d4e70fcbfebd890d864b6735b5af1a63b1354082d','{"author":"R1","body":{"sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"EvidenceNumberAsked","message":"92579251815195926f3d175712e67980329399f412e7dc114f885bb17b61095c","previous":"4a11ec1b437d97ebc2bd4b7dd73e0c3de37d07facb08fa33f3b6bbcf0e2f970a","received_us":1791796110000000,"said_us":1791796110000000,"seq":12}');
INSERT INTO "entries" VALUES('CH-014',13,'EvidenceNumberGiven',1791796140000000,'37734f5d6cf8c7e1e73a30340fb3b408560f665ee245774d26bb08d988f9ca36','{"author":"C1","body":{"number":"E-118","sample":"CH-014#2"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"EvidenceNumberGiven","message":"1d63c7b50960d02a511429645869e3d7af517a9ff1d6eca38ebd4ecb8033ba8e","previous":"2a20c0b1393c94e404535b6d4e70fcbfebd890d864b6735b5af1a63b1354082d","received_us":1791796140000000,"said_us":1791796140000000,"seq":13}');
INSERT INTO "entries" VALUES('unit',11,'StrangerHeard',1791796200000000,'65ff6f8d40ef44de926cfb9b05c78f587cb7e454222420c8f8b108965b5a1406','{"author":"","body":{"address":"b5579f064c11d8c2c0d61be05b39d2b2974b1934c01dead4e6deaf448c799958","answered":true,"sample":null},"body_version":1,"chain":"unit","channel":"sms","event":null,"kind":"StrangerHeard","message":"57260d69ef9354f52cfa08bd19c617d4c4b2e88c8f8bc0eead46823c7ba3c038","previous":"44590ab0830dc852eb2eef692404fbe9fe196e0ab73ea376a2c66174fa42ce23","received_us":1791796200000000,"said_us":1791796200000000,"seq":11}');
INSERT INTO "entries" VALUES('CH-014',14,'EntryStopped',1791796260000000,'97d04bbefa42eededcb0f5e0a2221d0633e9d3a68c4d02e113c857e787269dfd','{"author":"R1","body":{"sample":null,"words":"going into the tank"},"body_version":1,"chain":"CH-014","channel":"sms","event":null,"kind":"EntryStopped","message":"28f13f51865a879183bfef0b753536c23c3e549598af0198b4c2c663f9e7ba13","previous":"37734f5d6cf8c7e1e73a30340fb3b408560f665ee245774d26bb08d988f9ca36","received_us":1791796260000000,"said_us":1791796260000000,"seq":14}');
INSERT INTO "entries" VALUES('unit',12,'AlertRaised',1791796260000000,'d5a953a5f4c2b81a58cdc26da7f622a093bbbf0c9fdd669e93af651d65ec9630','{"author":"R1","body":{"alert":"A12","alert_kind":"entry_stop","level":"critical","sample":null,"subject":"R1","told":["S1"]},"body_version":1,"chain":"unit","channel":"sms","event":null,"kind":"AlertRaised","message":"28f13f51865a879183bfef0b753536c23c3e549598af0198b4c2c663f9e7ba13","previous":"65ff6f8d40ef44de926cfb9b05c78f587cb7e454222420c8f8b108965b5a1406","received_us":1791796260000000,"said_us":1791796260000000,"seq":12}');
INSERT INTO "entries" VALUES('unit',13,'HeadsSealed',1791846000000000,'a845d060d498815650525b18838aa99a01fcc8eba103fc4b59fbef6a9fdb99b1','{"author":"","body":{"day":"2026-10-12","heads":{"CH-014":[14,"97d04bbefa42eededcb0f5e0a2221d0633e9d3a68c4d02e113c857e787269dfd"],"unit":[12,"d5a953a5f4c2b81a58cdc26da7f622a093bbbf0c9fdd669e93af651d65ec9630"]},"sample":null,"words":"NIBS NILE NEST SEW WERE AMY"},"body_version":1,"chain":"unit","channel":"","event":null,"kind":"HeadsSealed","message":null,"previous":"d5a953a5f4c2b81a58cdc26da7f622a093bbbf0c9fdd669e93af651d65ec9630","received_us":1791846000000000,"said_us":1791846000000000,"seq":13}');
INSERT INTO "entries" VALUES('unit',14,'HeadsSealed',1791932400000000,'1d2faf41c55ea3ef2aefd6f2c428894a07de1154100e1ff88e81aebabf5f1155','{"author":"","body":{"day":"2026-10-13","heads":{"CH-014":[14,"97d04bbefa42eededcb0f5e0a2221d0633e9d3a68c4d02e113c857e787269dfd"],"unit":[13,"a845d060d498815650525b18838aa99a01fcc8eba103fc4b59fbef6a9fdb99b1"]},"sample":null,"words":"WU TALK MUFF WAVE RUTH SLED"},"body_version":1,"chain":"unit","channel":"","event":null,"kind":"HeadsSealed","message":null,"previous":"a845d060d498815650525b18838aa99a01fcc8eba103fc4b59fbef6a9fdb99b1","received_us":1791932400000000,"said_us":1791932400000000,"seq":14}');
CREATE TABLE heads (
	chain TEXT NOT NULL, 
	seq INTEGER NOT NULL, 
	hash TEXT NOT NULL, 
	PRIMARY KEY (chain)
)
 STRICT

;
INSERT INTO "heads" VALUES('CH-014',14,'97d04bbefa42eededcb0f5e0a2221d0633e9d3a68c4d02e113c857e787269dfd');
INSERT INTO "heads" VALUES('unit',14,'1d2faf41c55ea3ef2aefd6f2c428894a07de1154100e1ff88e81aebabf5f1155');
CREATE TABLE outbox (
	"row" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	address TEXT NOT NULL, 
	doc TEXT NOT NULL, 
	queued_us INTEGER NOT NULL, 
	due_us INTEGER NOT NULL, 
	state TEXT NOT NULL, 
	attempts INTEGER DEFAULT 0 NOT NULL, 
	leased_by TEXT, 
	leased_until_us INTEGER, 
	done_us INTEGER, 
	again INTEGER DEFAULT 0 NOT NULL, 
	problem TEXT
)
 STRICT

;
INSERT INTO "outbox" VALUES(1,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"03 saved, not confirmed: spill, sheen, pad, 10:02, 47.2830N 19.9510W, seal 5103. Not stated: gloves, photo, cooler. OK, or send it.","asks":"confirm","choices":[{"id":"ok","label":"OK"}],"alert":null,"files":[],"queued_us":1791795780000000}',1791795780000000,1791795780000000,'sent',1,NULL,NULL,1791795780000000,0,NULL);
INSERT INTO "outbox" VALUES(2,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"03 saved, not confirmed: spill, sheen, pad, 10:02, 47.2830N 19.9510W, seal 5103, cooler M 4.4 C. Not stated: gloves, photo. OK, or send it.","asks":"confirm","choices":[{"id":"ok","label":"OK"}],"alert":null,"files":[],"queued_us":1791795810000000}',1791795810000000,1791795810000000,'sent',1,NULL,NULL,1791795810000000,0,NULL);
INSERT INTO "outbox" VALUES(3,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"03 saved, not confirmed: spill, sheen, pad, 10:02, 47.2830N 19.9510W, seal 5103, 1 photo, cooler M 4.4 C. Not stated: gloves. OK, or send it.","asks":"confirm","choices":[{"id":"ok","label":"OK"}],"alert":null,"files":[],"queued_us":1791795840000000}',1791795840000000,1791795840000000,'sent',1,NULL,NULL,1791795840000000,0,NULL);
INSERT INTO "outbox" VALUES(4,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"03 seal 5104, was 5103: \"misread\". If the jar''s label says 5103, strike it, initial it, and tell me.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791795900000000}',1791795900000000,1791795900000000,'sent',1,NULL,NULL,1791795900000000,0,NULL);
INSERT INTO "outbox" VALUES(5,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"03 on record. Not stated: gloves. Its evidence number comes from the custodian: label then. Clean water is still wanted in this case.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791795960000000}',1791795960000000,1791795960000000,'sent',1,NULL,NULL,1791795960000000,0,NULL);
INSERT INTO "outbox" VALUES(6,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"04 is on record. Its place lies 54 km north of the area. Its place lies 67 km from 03 in 5 min. Send it again, or OK if it stands.","asks":"query","choices":[{"id":"ok","label":"OK"}],"alert":null,"files":[],"queued_us":1791796020000000}',1791796020000000,1791796020000000,'sent',1,NULL,NULL,1791796020000000,0,NULL);
INSERT INTO "outbox" VALUES(7,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"Kept as a note: no jar is read in it. Start with its number, like: 03 spill sheen 1002. JAR leads you, ? shows more.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796080000000}',1791796080000000,1791796080000000,'sent',1,NULL,NULL,1791796080000000,0,NULL);
INSERT INTO "outbox" VALUES(8,'sms:+447700900003','{"channel":"sms","account":"+447700900003","person":"C1","text":"R1 asks evidence numbers for CH-014 03. Send like: 03 E-118","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796110000000}',1791796110000000,1791796110000000,'sent',1,NULL,NULL,1791796110000000,0,NULL);
INSERT INTO "outbox" VALUES(9,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"Asked for 03. Keep the label off until its number comes; the lid carries the sample number.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796110000000}',1791796110000000,1791796110000000,'sent',1,NULL,NULL,1791796110000000,0,NULL);
INSERT INTO "outbox" VALUES(10,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"CH-014 03: evidence number E-118. Write the label before you stick it.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796140000000}',1791796140000000,1791796140000000,'sent',1,NULL,NULL,1791796140000000,0,NULL);
INSERT INTO "outbox" VALUES(11,'sms:+447700900003','{"channel":"sms","account":"+447700900003","person":"C1","text":"03 has evidence number E-118.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796140000000}',1791796140000000,1791796140000000,'sent',1,NULL,NULL,1791796140000000,0,NULL);
INSERT INTO "outbox" VALUES(12,'sms:+447700900099','{"channel":"sms","account":"+447700900099","person":"","text":"This line is for enrolled crews. If you have a code, send it.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796200000000}',1791796200000000,1791796200000000,'sent',1,NULL,NULL,1791796200000000,0,NULL);
INSERT INTO "outbox" VALUES(13,'sms:+447700900001','{"channel":"sms","account":"+447700900001","person":"R1","text":"STOP. Do not enter or lean in. Ask the safety lead. SKIP leaves this sample out. Your supervisor is being told.","asks":null,"choices":[],"alert":null,"files":[],"queued_us":1791796260000000}',1791796260000000,1791796260000000,'sent',1,NULL,NULL,1791796260000000,0,NULL);
INSERT INTO "outbox" VALUES(14,'sms:+447700900004','{"channel":"sms","account":"+447700900004","person":"S1","text":"R1 texted of going in: \"going into the tank\". They were told to stop and ask the safety lead. Call them.","asks":null,"choices":[],"alert":{"id":"A12","kind":"entry_stop","subject":"R1","level":"critical","repeat":0},"files":[],"queued_us":1791796260000000}',1791796260000000,1791796260000000,'sent',1,NULL,NULL,1791796260000000,0,NULL);
CREATE TABLE photos (
	id TEXT NOT NULL, 
	sha256 TEXT NOT NULL, 
	person TEXT NOT NULL, 
	chain TEXT NOT NULL, 
	sample_id TEXT, 
	received_us INTEGER NOT NULL, 
	doc TEXT NOT NULL, 
	PRIMARY KEY (id)
)
 STRICT

;
INSERT INTO "photos" VALUES('CH-014#5','b3de5401502cf067704c591956c8eabed60b8053ee53e5c5fcd80e46bf717fbd','R1','CH-014','CH-014#2',1791795840000000,'{"caption":"03","photo":{"camera_offset":null,"camera_position":null,"camera_time":null,"media_type":"image/jpeg","name":"jar.jpg","problem":null,"sha256":"b3de5401502cf067704c591956c8eabed60b8053ee53e5c5fcd80e46bf717fbd","size":629},"sample":"CH-014#2"}');
CREATE TABLE raw_messages (
	"row" INTEGER NOT NULL, 
	"key" TEXT NOT NULL, 
	address TEXT NOT NULL, 
	received_us INTEGER NOT NULL, 
	sent_us INTEGER, 
	state TEXT NOT NULL, 
	sha256 TEXT NOT NULL, 
	text TEXT NOT NULL, 
	PRIMARY KEY ("row"), 
	UNIQUE ("key")
)
 STRICT

;
INSERT INTO "raw_messages" VALUES(1,'sms:30d997e8d036aa99bc8d594d','sms:+447700900001',1791795780000000,NULL,'taken','5bc325054e5883eddcd90c5f9c32189fba4f1500b9764cfeb10aa6532c264518','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"30d997e8d036aa99bc8d594d","received_us":1791795780000000,"text":"03 spill sheen 1002 47.2830N 19.9510W pad seal 5103"}');
INSERT INTO "raw_messages" VALUES(2,'sms:d368b705c089dc9a0fd1559d','sms:+447700900001',1791795810000000,NULL,'taken','40ecf5a71db4b301c5122438e30515ef22aeed7841617df50073e89aba06b24a','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"d368b705c089dc9a0fd1559d","received_us":1791795810000000,"text":"03 cooler M 4.4C"}');
INSERT INTO "raw_messages" VALUES(3,'sms:4031af81ceb95533e5c37fe8','sms:+447700900001',1791795840000000,NULL,'taken','cab97e0398fd77e0c7bbbfbb17cbbadd96e7d99eda0102095f18a3ead8ae67ff','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[{"media_type":"image/jpeg","name":"jar.jpg","sha256":"b3de5401502cf067704c591956c8eabed60b8053ee53e5c5fcd80e46bf717fbd","size":629}],"channel":"sms","message_id":"4031af81ceb95533e5c37fe8","received_us":1791795840000000,"text":"03"}');
INSERT INTO "raw_messages" VALUES(4,'sms:f97b5602bb780e74a26e772e','sms:+447700900001',1791795900000000,NULL,'taken','83806dbc1822de39ddf814e063df0eec32ca080d337250c19410a4ffbccaf4b1','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"f97b5602bb780e74a26e772e","received_us":1791795900000000,"text":"03 seal is 5104 not 5103, misread"}');
INSERT INTO "raw_messages" VALUES(5,'sms:ccd5d551b41b24066991a0ba','sms:+447700900001',1791795960000000,NULL,'taken','f320e8908c806ff4886e327725cdda70d7673d54b2a940cf595c8f48cd57528c','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"ccd5d551b41b24066991a0ba","received_us":1791795960000000,"text":"ok"}');
INSERT INTO "raw_messages" VALUES(6,'sms:42c6722df793509b270224c5','sms:+447700900001',1791796020000000,NULL,'taken','17bf017f309614d8d2149736b1594ffcd935a048a02aa3f6348daace89cc64fb','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"42c6722df793509b270224c5","received_us":1791796020000000,"text":"04 spill 47.8830N 20.0W fill 50% cooler M 5C"}');
INSERT INTO "raw_messages" VALUES(7,'sms:8516bbd9d12f09f11e1e2974','sms:+447700900001',1791796080000000,NULL,'taken','c9e6b1c2c95643a37fa614f765e217f3ab94a2a398184e8a9e4c2499257d4c8e','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"8516bbd9d12f09f11e1e2974","received_us":1791796080000000,"text":"the tide turned"}');
INSERT INTO "raw_messages" VALUES(8,'sms:0746bed50c1e62d7aa1fc578','sms:+447700900001',1791796110000000,NULL,'taken','92579251815195926f3d175712e67980329399f412e7dc114f885bb17b61095c','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"0746bed50c1e62d7aa1fc578","received_us":1791796110000000,"text":"need number 03"}');
INSERT INTO "raw_messages" VALUES(9,'sms:6460cc579f92ebc0945fe6b9','sms:+447700900003',1791796140000000,NULL,'taken','1d63c7b50960d02a511429645869e3d7af517a9ff1d6eca38ebd4ecb8033ba8e','{"account":"74d20febe2d071f5e7f06180244a8e60dfc7f0e5ef73f525ef73c9909baace05","attachments":[],"channel":"sms","message_id":"6460cc579f92ebc0945fe6b9","received_us":1791796140000000,"text":"03 E-118"}');
INSERT INTO "raw_messages" VALUES(10,'sms:aa859cc0ef5bf93fd231e378','sms:+447700900099',1791796200000000,NULL,'quarantined','57260d69ef9354f52cfa08bd19c617d4c4b2e88c8f8bc0eead46823c7ba3c038','{"account":"b5579f064c11d8c2c0d61be05b39d2b2974b1934c01dead4e6deaf448c799958","attachments":[],"channel":"sms","message_id":"aa859cc0ef5bf93fd231e378","received_us":1791796200000000,"text":"hello"}');
INSERT INTO "raw_messages" VALUES(11,'sms:866ca5a7fb5d3b07dace9480','sms:+447700900001',1791796260000000,NULL,'taken','28f13f51865a879183bfef0b753536c23c3e549598af0198b4c2c663f9e7ba13','{"account":"38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a","attachments":[],"channel":"sms","message_id":"866ca5a7fb5d3b07dace9480","received_us":1791796260000000,"text":"going into the tank"}');
CREATE TABLE readings (
	id TEXT NOT NULL, 
	cooler TEXT NOT NULL, 
	at_us INTEGER NOT NULL, 
	doc TEXT NOT NULL, 
	PRIMARY KEY (id)
)
 STRICT

;
INSERT INTO "readings" VALUES('unit#9','M',1791795810000000,'{"at":"2026-10-12T09:03:30Z","at_us":1791795810000000,"by":"R1","celsius":4.4,"cooler":"M","for_sample":"CH-014#2","ice_left":null,"raw":"4.4C","received_us":1791795810000000,"unit_derived":false}');
INSERT INTO "readings" VALUES('unit#10','M',1791796020000000,'{"at":"2026-10-12T09:07:00Z","at_us":1791796020000000,"by":"R1","celsius":5.0,"cooler":"M","for_sample":"CH-014#8","ice_left":null,"raw":"5C","received_us":1791796020000000,"unit_derived":false}');
CREATE TABLE replacing (never INTEGER CONSTRAINT "append-only" CHECK (0)) STRICT;
CREATE TABLE salts (
	commitment TEXT NOT NULL, 
	value TEXT NOT NULL, 
	salt TEXT NOT NULL, 
	PRIMARY KEY (commitment), 
	UNIQUE (value)
)
 STRICT

;
INSERT INTO "salts" VALUES('38f5de56723ecaea68c15e2866dd7f5795610335f9e8602c7b0d8b984033e16a','sms:+447700900001','a7d686fb466ce88ae00ab5901f1a3476');
INSERT INTO "salts" VALUES('8457880d6a1a044df296c98f75f9906246b35781a37e5e1678a47c4b1e10847d','sms:+447700900002','c326db16e44e81b916844d4dd83d0572');
INSERT INTO "salts" VALUES('74d20febe2d071f5e7f06180244a8e60dfc7f0e5ef73f525ef73c9909baace05','sms:+447700900003','cf1456f9f876c9f765de331388e6bec5');
INSERT INTO "salts" VALUES('9036a3b0c7bf5e7ce7acaa49ec2825b0ce4a2c47483a349662d57d4133be0398','sms:+447700900004','124265b2f3651343c967a48d2e549be6');
INSERT INTO "salts" VALUES('84df8b4278df949732797cefb1bbace533669ab41a3666d8dcf9157396bd2ac8','web:r1','7633504c93c48efdb1616e64a5719832');
INSERT INTO "salts" VALUES('b5579f064c11d8c2c0d61be05b39d2b2974b1934c01dead4e6deaf448c799958','sms:+447700900099','7f5731cb7a1de0ee5f042c809f4279f7');
CREATE TABLE samples (
	id TEXT NOT NULL, 
	case_name TEXT NOT NULL, 
	number TEXT NOT NULL, 
	jar_key TEXT NOT NULL, 
	number_int INTEGER, 
	told_by TEXT NOT NULL, 
	declared_us INTEGER NOT NULL, 
	event_us INTEGER, 
	has_position INTEGER NOT NULL, 
	kind TEXT, 
	open INTEGER NOT NULL, 
	seal TEXT, 
	evidence TEXT, 
	doc TEXT NOT NULL, 
	PRIMARY KEY (id)
)
 STRICT

;
INSERT INTO "samples" VALUES('CH-014#2','CH-014','03','CH-014/3',3,'R1',1791795780000000,1791795720000000,1,'spill',0,'5104','E-118','{"id":"CH-014#2","case":"CH-014","number":"03","number_key":"3","declared_by":"R1","said_us":1791795780000000,"received_us":1791795780000000,"facts":{"position":{"value":{"lat":47.283,"lon":-19.951,"source":"typed"},"raw":"47.2830N 19.9510W","by":"R1","said_us":1791795780000000,"received_us":1791795780000000,"copied_from":null},"kind":{"value":"spill","raw":"spill","by":"R1","said_us":1791795780000000,"received_us":1791795780000000,"copied_from":null},"matrix":{"value":"sheen","raw":"sheen","by":"R1","said_us":1791795780000000,"received_us":1791795780000000,"copied_from":null},"time":{"value":{"at":"2026-10-12T10:02:00+01:00","at_us":1791795720000000,"estimate":false,"offset_derived":true,"offset_minutes":60},"raw":"1002","by":"R1","said_us":1791795780000000,"received_us":1791795780000000,"copied_from":null},"method":{"value":"pad","raw":"pad","by":"R1","said_us":1791795780000000,"received_us":1791795780000000,"copied_from":null},"seal":{"value":{"number":"5104","tape":null},"raw":"5104","by":"R1","said_us":1791795900000000,"received_us":1791795900000000,"copied_from":null},"cooler":{"value":"M","raw":"M","by":"R1","said_us":1791795810000000,"received_us":1791795810000000,"copied_from":null},"cooler_celsius":{"value":{"celsius":4.4,"unit_derived":false},"raw":"4.4C","by":"R1","said_us":1791795810000000,"received_us":1791795810000000,"copied_from":null}},"corrections":[{"field":"seal","old":"5103","new":"5104","by":"R1","said_us":1791795900000000,"received_us":1791795900000000,"why":"misread","sort":"correction"}],"queries":[],"photos":[{"sha256":"b3de5401502cf067704c591956c8eabed60b8053ee53e5c5fcd80e46bf717fbd","state":"received","camera_time":null}],"accounts":[],"confirmed":true,"struck":null,"apart_from":null,"number_open":false,"evidence_asked_by":"R1","evidence_number":"E-118"}');
INSERT INTO "samples" VALUES('CH-014#8','CH-014','04','CH-014/4',4,'R1',1791796020000000,NULL,1,'spill',1,NULL,NULL,'{"id":"CH-014#8","case":"CH-014","number":"04","number_key":"4","declared_by":"R1","said_us":1791796020000000,"received_us":1791796020000000,"facts":{"position":{"value":{"lat":47.883,"lon":-20,"source":"typed"},"raw":"47.8830N 20.0W","by":"R1","said_us":1791796020000000,"received_us":1791796020000000,"copied_from":null},"kind":{"value":"spill","raw":"spill","by":"R1","said_us":1791796020000000,"received_us":1791796020000000,"copied_from":null},"fill":{"value":{"percent":50},"raw":"50%","by":"R1","said_us":1791796020000000,"received_us":1791796020000000,"copied_from":null},"cooler":{"value":"M","raw":"M","by":"R1","said_us":1791796020000000,"received_us":1791796020000000,"copied_from":null},"cooler_celsius":{"value":{"celsius":5,"unit_derived":false},"raw":"5C","by":"R1","said_us":1791796020000000,"received_us":1791796020000000,"copied_from":null}},"corrections":[],"queries":[{"id":"Q1","field":"position","rule":"area+speed","text":"Its place lies 54 km north of the area. Its place lies 67 km from 03 in 5 min.","raised_us":1791796020000000,"open":true,"how":null}],"photos":[],"accounts":[],"confirmed":false,"struck":null,"apart_from":null,"number_open":false,"evidence_asked_by":null,"evidence_number":null}');
CREATE TABLE store_state (
	id INTEGER NOT NULL, 
	writes INTEGER NOT NULL, 
	PRIMARY KEY (id), 
	CONSTRAINT one_row CHECK (id = 1)
)
 STRICT

;
INSERT INTO "store_state" VALUES(1,54);
CREATE TABLE unit_items (
	kind TEXT NOT NULL, 
	name TEXT NOT NULL, 
	doc TEXT NOT NULL, 
	PRIMARY KEY (kind, name)
)
 STRICT

;
INSERT INTO "unit_items" VALUES('unit','','{"area":{"east":-19.8,"north":47.4,"south":47.2,"west":-20.1},"name":"Corrowby Haven","region":"GB","zone":"Europe/Lisbon"}');
INSERT INTO "unit_items" VALUES('watch','','{"digest":{},"ladder":[],"ladder_minutes":10,"quiet":null,"sample":null}');
INSERT INTO "unit_items" VALUES('person','C1','{"active":true,"addresses":["sms:+447700900003"],"gloves":null,"language":null,"name":"C1","roles":["custodian"]}');
INSERT INTO "unit_items" VALUES('person','R1','{"active":true,"addresses":["sms:+447700900001","web:r1"],"gloves":null,"language":null,"name":"R1","roles":["responder"]}');
INSERT INTO "unit_items" VALUES('person','R2','{"active":true,"addresses":["sms:+447700900002"],"gloves":null,"language":null,"name":"R2","roles":["responder"]}');
INSERT INTO "unit_items" VALUES('person','S1','{"active":true,"addresses":["sms:+447700900004"],"gloves":null,"language":null,"name":"S1","roles":["supervisor"]}');
INSERT INTO "unit_items" VALUES('kit','A','{"name":"A","numbers":[1,19],"seals":["5101","5121"],"training":false}');
INSERT INTO "unit_items" VALUES('cooler','M','{"cooler_class":"50 L ordinary","name":"M"}');
CREATE TABLE web_sessions (
	commitment TEXT NOT NULL, 
	address TEXT NOT NULL, 
	expires_us INTEGER NOT NULL, 
	PRIMARY KEY (commitment)
)
 STRICT

;
CREATE INDEX raw_messages_address_row ON raw_messages (address, "row");
CREATE TRIGGER raw_messages_no_replace BEFORE INSERT ON raw_messages BEGIN INSERT OR IGNORE INTO replacing VALUES (1); END;
CREATE TRIGGER raw_messages_no_update BEFORE UPDATE ON raw_messages BEGIN SELECT RAISE(ABORT, 'raw_messages is append-only'); END;
CREATE TRIGGER raw_messages_no_delete BEFORE DELETE ON raw_messages BEGIN SELECT RAISE(ABORT, 'raw_messages is append-only'); END;
CREATE TRIGGER entries_no_replace BEFORE INSERT ON entries BEGIN INSERT OR IGNORE INTO replacing VALUES (1); END;
CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'entries is append-only'); END;
CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'entries is append-only'); END;
CREATE INDEX outbox_due_us_row_some ON outbox (due_us, "row") WHERE state IN ('waiting', 'leased');
CREATE INDEX outbox_address_row ON outbox (address, "row");
CREATE INDEX outbox_address_row_some ON outbox (address, "row") WHERE state IN ('waiting', 'leased');
CREATE INDEX due_due_us_some ON due (due_us) WHERE state = 'waiting';
CREATE INDEX cases_state ON cases (state);
CREATE INDEX samples_jar_key ON samples (jar_key);
CREATE INDEX samples_case_name_kind ON samples (case_name, kind);
CREATE INDEX samples_case_name_number_int ON samples (case_name, number_int);
CREATE INDEX samples_told_by_declared_us ON samples (told_by, declared_us);
CREATE INDEX samples_told_by_event_us_some ON samples (told_by, event_us) WHERE has_position = 1;
CREATE INDEX samples_told_by_declared_us_some ON samples (told_by, declared_us) WHERE open = 1;
CREATE INDEX samples_seal_some ON samples (seal) WHERE seal IS NOT NULL;
CREATE INDEX samples_evidence_some ON samples (evidence) WHERE evidence IS NOT NULL;
CREATE INDEX photos_sha256 ON photos (sha256);
CREATE INDEX photos_sample_id ON photos (sample_id);
CREATE INDEX photos_person_received_us_some ON photos (person, received_us) WHERE sample_id IS NULL;
CREATE INDEX alerts_kind_subject_raised_us ON alerts (kind, subject, raised_us);
CREATE INDEX readings_cooler_at_us ON readings (cooler, at_us);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('outbox',14);
COMMIT;
