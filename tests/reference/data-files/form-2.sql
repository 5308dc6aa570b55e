PRAGMA foreign_keys = OFF;
BEGIN TRANSACTION;
CREATE TABLE event (
    review BLOB NOT NULL REFERENCES review (id),
    seq    INTEGER NOT NULL,
    at_ms  INTEGER NOT NULL,
    kind   TEXT NOT NULL,
    body   TEXT NOT NULL,
    chain  BLOB NOT NULL,
    PRIMARY KEY (review, seq)
) STRICT, WITHOUT ROWID;
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',1,0,'opened','{"kind":"opened","schema":1,"review":"01a217c1-11d4-72a0-81ba-d73a4b54fb3d","settings":{"list":"shoulder","list_name":"shoulder, introductory course","limit_ms":45000,"rule":"speed_weighted","spelling":"tolerant","pace":{"kind":"instructor"}},"seed":6286651792663176687,"plan":["levator-scapulae","teres-major","pectoralis-major","rhomboid-major"]}',X'BD17A21B2EA888A7725A1D6ADBA68E3AF6D16493D723B2B5113AFDF270F63E72');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',2,5092,'seated','{"kind":"seated","student":"e948bf5f-a884-44be-8c25-41c9ccc8412c","listed":true}',X'6AC01CB2A345E192BB85DCE8D1E4BDB568FDC89893C6C9C4A7F911B6191513E1');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',3,5101,'seated','{"kind":"seated","student":"540e68a8-9cf0-4c52-b3a6-3a4883e9d287","listed":true}',X'DAAE4FF455605DEC8D930FC31D1DFBA4122B07FCE0B87CA3985265AB0C5303F1');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',4,5103,'seated','{"kind":"seated","student":"36a3d0e7-15d2-479d-9d38-90700860f079","listed":false}',X'D466DA22917A84A2E49B7DC77D4C92A5BDBCF1C975C25072B031B9FCEE7B5776');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',5,5109,'round_opened','{"kind":"round_opened","round":1,"muscle":"levator-scapulae","name":"levator scapulae","latin":"musculus levator scapulae","clues":[{"kind":"joint","text":"It acts on the scapulothoracic joint."},{"kind":"action","text":"It elevates the scapula."},{"kind":"origin","text":"It arises from the transverse processes of C1-C4."}],"limit_ms":45000}',X'B6D710AA11ADEF095F921F1DABBBD36D95606F07761C9FA9DD59C06DB9160EF8');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',6,5120,'answered','{"kind":"answered","round":1,"student":"e948bf5f-a884-44be-8c25-41c9ccc8412c","attempt":"71a3eaf3-f5d5-4d54-a9a2-d258e2dec20a","typed":"levator scapulae","said":"levator-scapulae","said_name":"levator scapulae","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":5,"limit_ms":45000,"clues":1,"hasty":false}',X'7517545D7D4BA3C718AC04F0CDA2C3D01532DD4910BB0D523328EB6CD54C65B9');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',7,5125,'answered','{"kind":"answered","round":1,"student":"540e68a8-9cf0-4c52-b3a6-3a4883e9d287","attempt":"6cd05d59-ad3a-4303-93ea-f86b874e1293","typed":"deltoid","said":"deltoid","said_name":"deltoid","spelling":"exact","exact":false,"credit":0.0,"elapsed_ms":10,"limit_ms":45000,"clues":1,"hasty":false}',X'2A9EA01D9A1099F1FA82071E5C32C07BF8520B11C6937BC65C6742B7D4565A2E');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',8,5129,'answered','{"kind":"answered","round":1,"student":"36a3d0e7-15d2-479d-9d38-90700860f079","attempt":"34137ce9-5cb3-40a7-b154-8a537dc53d35","typed":"levator scapulae","said":"levator-scapulae","said_name":"levator scapulae","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":14,"limit_ms":45000,"clues":1,"hasty":false}',X'640FB9ADB26470541A6F1B093A6D635F886BC16F15ABD485E00EECEA0E102504');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',9,5129,'round_closed','{"kind":"round_closed","round":1,"why":"all_answered","silent":[]}',X'9B10C61DEAA0348D052D48CF10730487EC49F2544509C53B65F57AC091684122');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',10,5141,'revealed','{"kind":"revealed","round":1,"contrast":{"said":"deltoid","said_name":"deltoid","count":1,"contrast":{"shared":[],"apart":[{"aspect":"action","first":"elevates the scapula and rotates it downwards","second":"abducts the arm; its anterior part flexes the arm and rotates it medially; its posterior part extends the arm and rotates it laterally"},{"aspect":"insertion","first":"the upper part of the medial border of the scapula and the superior angle of the scapula","second":"the deltoid tuberosity of the humerus"},{"aspect":"origin","first":"the transverse processes of C1-C4","second":"the lateral third of the clavicle (anterior part), the acromion (middle part) and the spine of the scapula (posterior part)"},{"aspect":"group","first":"posterior axio-appendicular muscles","second":"scapulohumeral muscles"},{"aspect":"region","first":"pectoral girdle","second":"shoulder"}]}}}',X'DA120B860D9C6ECFD1F2F86914573A38B93A68836C7BEE723D7505354AA8CE26');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',11,5150,'round_opened','{"kind":"round_opened","round":2,"muscle":"teres-major","name":"teres major","latin":"musculus teres major","clues":[{"kind":"origin-bone","text":"It arises from the scapula."},{"kind":"action","text":"It rotates the arm medially."},{"kind":"origin","text":"It arises from the posterior surface of the inferior angle of the scapula."},{"kind":"group","text":"It is one of the scapulohumeral muscles."}],"limit_ms":45000}',X'77332D642AF0A38F728B124B4AEB33B4904AF58E782C6A68C2BDDBC92226A2CC');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',12,5162,'answered','{"kind":"answered","round":2,"student":"e948bf5f-a884-44be-8c25-41c9ccc8412c","attempt":"f7bd70ec-668a-49a1-b1d0-c3a5e92bcbe5","typed":"teres major","said":"teres-major","said_name":"teres major","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":1,"limit_ms":45000,"clues":1,"hasty":false}',X'C47C21A22B6EB140A6FB38A7B17D264D994938F237295CE507434EA8E63DF2E6');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',13,5169,'answered','{"kind":"answered","round":2,"student":"540e68a8-9cf0-4c52-b3a6-3a4883e9d287","attempt":"49dd7685-d1ac-42aa-8e6d-34704a0821b3","typed":"deltoid","said":"deltoid","said_name":"deltoid","spelling":"exact","exact":false,"credit":0.0,"elapsed_ms":8,"limit_ms":45000,"clues":1,"hasty":false}',X'D3562B94E16FA780FA4DC006E62B27DD5A9659C5F67D495DAEAAD510DC5B67EE');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',14,5173,'round_closed','{"kind":"round_closed","round":2,"why":"instructor","silent":["36a3d0e7-15d2-479d-9d38-90700860f079"]}',X'C6C04C7625653E0C9E47F669908450B7F8B4BC2C3AFB8DAEECEB95328CC8D83F');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',15,5189,'revealed','{"kind":"revealed","round":2,"contrast":{"said":"deltoid","said_name":"deltoid","count":1,"contrast":{"shared":["It acts on the shoulder joint.","It inserts on the humerus.","It is one of the scapulohumeral muscles.","It is a muscle of the shoulder."],"apart":[{"aspect":"action","first":"adducts the arm","second":"abducts the arm"},{"aspect":"action","first":"extends the arm and rotates it medially","second":"its anterior part flexes the arm and rotates it medially; its posterior part extends the arm and rotates it laterally"},{"aspect":"insertion","first":"the intertubercular sulcus of the humerus","second":"the deltoid tuberosity of the humerus"},{"aspect":"origin","first":"the posterior surface of the inferior angle of the scapula","second":"the lateral third of the clavicle (anterior part), the acromion (middle part) and the spine of the scapula (posterior part)"}]}}}',X'86F20DEF96FF121C07551F47DD6955653C41B7D8BB9D9F270597EA71CA0DD889');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',16,5210,'away','{"kind":"away","student":"e948bf5f-a884-44be-8c25-41c9ccc8412c","left":false}',X'D6F904C8720440633585C872AC226F942E8A726BBA3667C5FF2BB13504408A8A');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',17,5210,'away','{"kind":"away","student":"540e68a8-9cf0-4c52-b3a6-3a4883e9d287","left":false}',X'6DFC0A6E9C6F2B738C98C28DA675D2248509ECE2671ACF548E48A5B0CDC34668');
INSERT INTO "event" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',18,5210,'away','{"kind":"away","student":"36a3d0e7-15d2-479d-9d38-90700860f079","left":false}',X'A339BB183582A393CEFD9E16331791431BC4CF85986007D682E5B11FFFAEF3B8');
CREATE TABLE host (
    key_hash BLOB NOT NULL
) STRICT;
INSERT INTO "host" VALUES(X'603FA165CC3B67F673EB7AF9DA92417375AD3BE3C044ADEAB6D9118313E92A03');
CREATE TABLE review (
    id        BLOB PRIMARY KEY,
    word      TEXT NOT NULL,
    key_hash  BLOB NOT NULL,
    opened_s  INTEGER NOT NULL,
    touched_s INTEGER NOT NULL,
    ended     INTEGER NOT NULL DEFAULT 0,
    own_list  TEXT
) STRICT, WITHOUT ROWID;
INSERT INTO "review" VALUES(X'01A217C111D472A081BAD73A4B54FB3D','humerus-palatine',X'0067B472C9B3547222DC671155752135B07E4C911C719242110B98DAC935973C',1795694858,1795694863,0,NULL);
CREATE TABLE seat (
    review     BLOB NOT NULL REFERENCES review (id),
    student    BLOB NOT NULL,
    token_hash BLOB NOT NULL,
    name       TEXT NOT NULL,
    PRIMARY KEY (review, student)
) STRICT, WITHOUT ROWID;
INSERT INTO "seat" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',X'36A3D0E715D2479D9D3890700860F079',X'B37C95868C9933E19BBAFE73F55E13D5CB38A205126C97527B952EB6B3636DE1','Ida');
INSERT INTO "seat" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',X'540E68A89CF04C52B3A63A4883E9D287',X'31397BDF155498851373DE66E7710D99358A80C2ADAD38997F46024067F0A006','Nils');
INSERT INTO "seat" VALUES(X'01A217C111D472A081BAD73A4B54FB3D',X'E948BF5FA88444BE8C2541C9CCC8412C',X'1C9F0972AB13824C9AFC4855CB182AEF5750B602888BFA71F09FDD8BB333D4AC','Iris');
PRAGMA user_version = 2;
COMMIT;
