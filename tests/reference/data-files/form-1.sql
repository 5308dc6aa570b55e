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
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',1,0,'opened','{"kind":"opened","schema":1,"review":"01a217bc-d2a2-7762-963f-afabdac1fe10","settings":{"list":"shoulder","list_name":"shoulder, introductory course","limit_ms":45000,"rule":"speed_weighted","spelling":"tolerant","pace":{"kind":"instructor"}},"seed":2497755063421952922,"plan":["latissimus-dorsi","deltoid","pectoralis-minor","trapezius"]}',X'628272C8D63F58291526D91510143D13B1AD84CCA0A9939CC362B05A4D7C2B30');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',2,3145,'seated','{"kind":"seated","student":"a3cd5db1-1522-434f-beff-8551b85bf5a2","listed":true}',X'CFC9EF07B4446EDB826885EC809149CF348645BEBF72E87E65BE978A5232AE6F');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',3,3153,'seated','{"kind":"seated","student":"f928c4de-7f4e-4971-86d9-36f0698c995a","listed":true}',X'28023E1BDDD829F9AFC2464313FCD25906BC282872EA62AAA66131BBEC53CE3C');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',4,3155,'seated','{"kind":"seated","student":"fd4a0a6c-a894-4b75-92fd-6cc1783934f9","listed":false}',X'1A23CDAD8F193B25C12CF4ABB337A2DDB86845A0DC8840D27B29120E99844E73');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',5,3156,'round_opened','{"kind":"round_opened","round":1,"muscle":"latissimus-dorsi","name":"latissimus dorsi","latin":"musculus latissimus dorsi","clues":[{"kind":"insertion-bone","text":"It inserts on the humerus."},{"kind":"action","text":"It rotates the arm medially."},{"kind":"origin-bone","text":"It arises partly from the hip bone."}],"limit_ms":45000}',X'05CB8F249210A15A5DF271D45CB6B2578F40F6030613DC221C5DFBF5A401BBB7');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',6,3162,'answered','{"kind":"answered","round":1,"student":"a3cd5db1-1522-434f-beff-8551b85bf5a2","attempt":"a73bfc4c-e244-41bf-97a6-1791fafddab3","typed":"latissimus dorsi","said":"latissimus-dorsi","said_name":"latissimus dorsi","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":5,"limit_ms":45000,"clues":1,"hasty":false}',X'21DFE45086C5F49A22E12E65DB796EEDD8207CBA85ED1B31D2E39245613A0742');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',7,3173,'answered','{"kind":"answered","round":1,"student":"f928c4de-7f4e-4971-86d9-36f0698c995a","attempt":"811808dc-192c-4a12-8226-f3591137e39e","typed":"deltoid","said":"deltoid","said_name":"deltoid","spelling":"exact","exact":false,"credit":0.0,"elapsed_ms":16,"limit_ms":45000,"clues":1,"hasty":false}',X'A2FAABF12C9437B708A3C9604BBE16EC16E7F260F23D8AEB57628E6DF6935677');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',8,3174,'answered','{"kind":"answered","round":1,"student":"fd4a0a6c-a894-4b75-92fd-6cc1783934f9","attempt":"73305ef5-417d-418c-86de-b28499f99cd1","typed":"latissimus dorsi","said":"latissimus-dorsi","said_name":"latissimus dorsi","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":17,"limit_ms":45000,"clues":1,"hasty":false}',X'14F1CF7770DB9BFDF24022A9E0C1DC2E8B47EE6817D63B8C428D3AE8EC080BC8');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',9,3174,'round_closed','{"kind":"round_closed","round":1,"why":"all_answered","silent":[]}',X'46ED3E779EC274A7F0DECFC882521594741CB8C01F38147DF04E424B38A823B1');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',10,3176,'revealed','{"kind":"revealed","round":1,"contrast":{"said":"deltoid","said_name":"deltoid","count":1,"contrast":{"shared":["It acts on the shoulder joint.","It inserts on the humerus.","It is a muscle of the shoulder."],"apart":[{"aspect":"action","first":"adducts the arm","second":"abducts the arm"},{"aspect":"action","first":"extends the arm and rotates the arm medially","second":"its anterior part flexes the arm, its anterior part rotates the arm medially, its posterior part extends the arm and its posterior part rotates the arm laterally"},{"aspect":"insertion","first":"the intertubercular sulcus of the humerus","second":"the deltoid tuberosity of the humerus"},{"aspect":"origin","first":"the spinous processes of T7-T12, the thoracolumbar fascia and the iliac crest","second":"the lateral third of the clavicle (anterior part), the acromion (middle part) and the spine of the scapula (posterior part)"},{"aspect":"group","first":"posterior axio-appendicular muscles","second":"scapulohumeral muscles"}]}}}',X'50FE0ECC29775E81E8F78509A5D12A6A5B62B90E922815FBFDFBD82FE4EC38D0');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',11,3178,'round_opened','{"kind":"round_opened","round":2,"muscle":"deltoid","name":"deltoid","latin":"musculus deltoideus","clues":[{"kind":"origin-bone","text":"It arises partly from the scapula."},{"kind":"action","text":"Its anterior part rotates the arm medially."},{"kind":"action","text":"It abducts the arm."}],"limit_ms":45000}',X'F58EC2A99F23A95080E981EFAB441BA46CD525690E3EDD37CE1A6CE9763CEAD6');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',12,3180,'answered','{"kind":"answered","round":2,"student":"a3cd5db1-1522-434f-beff-8551b85bf5a2","attempt":"0a94d7a8-9964-4860-932c-7bd4ba344eab","typed":"deltoid","said":"deltoid","said_name":"deltoid","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":1,"limit_ms":45000,"clues":1,"hasty":false}',X'D4D9A811E566CB62F7A1A070069E1144F9CA88383C2DF43C047839DF62934896');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',13,3189,'answered','{"kind":"answered","round":2,"student":"f928c4de-7f4e-4971-86d9-36f0698c995a","attempt":"78cc0dd6-585b-49e6-990a-b0af3a149f03","typed":"teres major","said":"teres-major","said_name":"teres major","spelling":"exact","exact":false,"credit":0.0,"elapsed_ms":10,"limit_ms":45000,"clues":1,"hasty":false}',X'C445B1CFE3362F4D97F0B924C4469098AF627412F73078D3548DF627F4EC76D9');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',14,3197,'round_closed','{"kind":"round_closed","round":2,"why":"instructor","silent":["fd4a0a6c-a894-4b75-92fd-6cc1783934f9"]}',X'94657EFE6B8152AD15B50C364B4B274257DD8FCDB49E447989A993BBE7DC3905');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',15,3204,'revealed','{"kind":"revealed","round":2,"contrast":{"said":"teres-major","said_name":"teres major","count":1,"contrast":{"shared":["It acts on the shoulder joint.","It inserts on the humerus.","It is one of the scapulohumeral muscles.","It is a muscle of the shoulder."],"apart":[{"aspect":"action","first":"abducts the arm","second":"adducts the arm"},{"aspect":"action","first":"its anterior part flexes the arm, its anterior part rotates the arm medially, its posterior part extends the arm and its posterior part rotates the arm laterally","second":"extends the arm and rotates the arm medially"},{"aspect":"insertion","first":"the deltoid tuberosity of the humerus","second":"the intertubercular sulcus of the humerus"},{"aspect":"origin","first":"the lateral third of the clavicle (anterior part), the acromion (middle part) and the spine of the scapula (posterior part)","second":"the posterior surface of the inferior angle of the scapula"}]}}}',X'2D9A729FFD76BEEE9277F67773EF3EEB365B945B0FDCC99B22D32B6EBFA06158');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',16,3217,'away','{"kind":"away","student":"f928c4de-7f4e-4971-86d9-36f0698c995a","left":false}',X'A6E08AF1038A11D78A7635EA706F92C9F8DF4355E11AD4C9C773883B48228488');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',17,3217,'away','{"kind":"away","student":"a3cd5db1-1522-434f-beff-8551b85bf5a2","left":false}',X'F3B75DE734A281330B7324B1EC486C546868F16215100E2DD595169BACFFA65A');
INSERT INTO "event" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',18,3217,'away','{"kind":"away","student":"fd4a0a6c-a894-4b75-92fd-6cc1783934f9","left":false}',X'CF8321198832D8F8865F4599D6A92A3C5B3815847BA35C73CD696E0E59BC7065');
CREATE TABLE host (
    key_hash BLOB NOT NULL
) STRICT;
INSERT INTO "host" VALUES(X'72CBEB69F9629BEE3795C2CFF00F85B7277178089E4FD154EECAC56892B9767F');
CREATE TABLE review (
    id        BLOB PRIMARY KEY,
    word      TEXT NOT NULL,
    key_hash  BLOB NOT NULL,
    opened_s  INTEGER NOT NULL,
    touched_s INTEGER NOT NULL,
    ended     INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;
INSERT INTO "review" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10','stapes-ulna',X'0377C526D5467A9F1F2C06B6BD6402E7B75CD713C43D23D703EB28F1EA5E2167',1795694580,1795694583,0);
CREATE TABLE seat (
    review     BLOB NOT NULL REFERENCES review (id),
    student    BLOB NOT NULL,
    token_hash BLOB NOT NULL,
    name       TEXT NOT NULL,
    PRIMARY KEY (review, student)
) STRICT, WITHOUT ROWID;
INSERT INTO "seat" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',X'A3CD5DB11522434FBEFF8551B85BF5A2',X'016AA888622848F93179049E09A4F195D104E44A29BE01AE825937F5DF28DF2F','Iris');
INSERT INTO "seat" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',X'F928C4DE7F4E497186D936F0698C995A',X'3096CB4CD42E0D50A58BBAF7E8FD6B10D80B74045951EFA3E2099DF9FA01FF1A','Nils');
INSERT INTO "seat" VALUES(X'01A217BCD2A27762963FAFABDAC1FE10',X'FD4A0A6CA8944B7592FD6CC1783934F9',X'62F678209B500F74FF55D5104BB5DA1CEC6D73305FBEA247E32C293FC20DE234','Ida');
PRAGMA user_version = 1;
COMMIT;
