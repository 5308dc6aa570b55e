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
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',1,0,'opened','{"kind":"opened","schema":3,"review":"01a217c1-2924-76b0-bdab-09622c73a23b","settings":{"list":"shoulder","list_name":"shoulder, introductory course","limit_ms":45000,"rule":"speed_weighted","spelling":"tolerant","pace":{"kind":"instructor"},"adaptive":false,"section":"Lab A"},"seed":5607361863939243704,"plan":["supraspinatus","pectoralis-major","subclavius","pectoralis-minor"],"tasks":["name","name","name","name"],"beside":[],"why":[]}',X'E48BD8098FF97E073D9520E75BC0B53B5A00F322E2C25983FA4B2B22BEA5E6D2');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',2,4820,'seated','{"kind":"seated","student":"1cbd96c4-8dc3-4f08-b029-c0d1f02d89bb","listed":true}',X'AE1926A8130204F4982390E961A7BB19EE4544A8876F2178E297CF39B3EB9138');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',3,4831,'seated','{"kind":"seated","student":"99213e04-7028-4679-bce1-063e3d235d72","listed":true}',X'F57417AA3A7EE09D3AF8B2AFF57C4E76CF1F9599DAC05A3B6AF0ED93E66D181E');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',4,4837,'seated','{"kind":"seated","student":"fd296db0-c63c-4205-aee4-ac6d37c666cf","listed":false}',X'2F8415DA19C67C182D4DE3D127453F3A3C015EE38633156F71A634F0B0B9B50A');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',5,4840,'round_opened','{"kind":"round_opened","round":1,"task":"name","muscle":"supraspinatus","name":"supraspinatus","latin":"musculus supraspinatus","offered":[],"clues":[{"kind":"origin-bone","text":"It arises from the scapula."},{"kind":"insertion","text":"It inserts on the greater tubercle of the humerus."},{"kind":"action","text":"It abducts the arm."}],"limit_ms":45000}',X'CE48C107CC7E95F8E3D78C93123F830684CE0020DA38AF0F80D414C92DE642F1');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',6,4846,'answered','{"kind":"answered","round":1,"student":"1cbd96c4-8dc3-4f08-b029-c0d1f02d89bb","attempt":"fff68eda-c442-493d-93d4-2698ef4ce26a","typed":"supraspinatus","said":"supraspinatus","movement":null,"said_name":"supraspinatus","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":3,"limit_ms":45000,"clues":1,"hasty":false}',X'E1A62BC28D4921F7E5849693E4B52A62A305D0E7D06EECDB744FE17C995B7275');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',7,4848,'answered','{"kind":"answered","round":1,"student":"99213e04-7028-4679-bce1-063e3d235d72","attempt":"736ff735-5f5b-4d28-85e7-fc833c656586","typed":"deltoid","said":"deltoid","movement":null,"said_name":"deltoid","spelling":"exact","exact":false,"credit":0.0,"elapsed_ms":5,"limit_ms":45000,"clues":1,"hasty":false}',X'7D4B0ABA9390FD8872B90BECB668B771A0F8678C92E689CAC1CA2D91087B0542');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',8,4852,'answered','{"kind":"answered","round":1,"student":"fd296db0-c63c-4205-aee4-ac6d37c666cf","attempt":"ce875ba2-cf91-4860-8f5c-26694f1ffbf7","typed":"supraspinatus","said":"supraspinatus","movement":null,"said_name":"supraspinatus","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":9,"limit_ms":45000,"clues":1,"hasty":false}',X'7D85F24C3F8E0CAEB879953D6E16E48268FF178BDC72EFB3FDFA00194B5610AB');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',9,4852,'round_closed','{"kind":"round_closed","round":1,"why":"all_answered","silent":[]}',X'1B24A29AF69DF75DA411791779BA09005CD02D00FE819C25565D805C9B643A90');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',10,4856,'revealed','{"kind":"revealed","round":1,"contrast":{"said":"deltoid","said_name":"deltoid","count":1,"contrast":{"shared":["It abducts the arm.","It inserts on the humerus.","It is one of the scapulohumeral muscles.","It is a muscle of the shoulder."],"apart":[{"aspect":"action","first":"abducts the arm","second":"abducts the arm; its anterior part flexes the arm and rotates it medially; its posterior part extends the arm and rotates it laterally"},{"aspect":"insertion","first":"the greater tubercle of the humerus","second":"the deltoid tuberosity of the humerus"},{"aspect":"origin","first":"the supraspinous fossa of the scapula","second":"the lateral third of the clavicle (anterior part), the acromion (middle part) and the spine of the scapula (posterior part)"},{"aspect":"group","first":"scapulohumeral muscles and rotator cuff","second":"scapulohumeral muscles"}]}}}',X'915A0C8F1AF75BBB406BE174DD947A38C034F92231B3D885C6D7315101A6AEF6');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',11,4900,'round_opened','{"kind":"round_opened","round":2,"task":"name","muscle":"pectoralis-major","name":"pectoralis major","latin":"musculus pectoralis major","offered":[],"clues":[{"kind":"insertion-bone","text":"It inserts on the humerus."},{"kind":"action","text":"It rotates the arm medially."},{"kind":"action","text":"Its clavicular head flexes the arm."},{"kind":"action","text":"It adducts the arm."}],"limit_ms":45000}',X'77894E7BDF9CE558A690CAF778B9C4D800B9627F85140A005F025173B65C15C2');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',12,4911,'answered','{"kind":"answered","round":2,"student":"1cbd96c4-8dc3-4f08-b029-c0d1f02d89bb","attempt":"3bec59e9-4277-45d9-ac4f-4d7155c7f6e3","typed":"pectoralis major","said":"pectoralis-major","movement":null,"said_name":"pectoralis major","spelling":"exact","exact":true,"credit":1.0,"elapsed_ms":1,"limit_ms":45000,"clues":1,"hasty":false}',X'6161548A154D447398A10FC8D2811D604D165967CBC4CC3FCBF4C6783A5C0879');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',13,4920,'answered','{"kind":"answered","round":2,"student":"99213e04-7028-4679-bce1-063e3d235d72","attempt":"e77b033d-11ae-4eec-b33f-7925443231f3","typed":"deltoid","said":"deltoid","movement":null,"said_name":"deltoid","spelling":"exact","exact":false,"credit":0.0,"elapsed_ms":10,"limit_ms":45000,"clues":1,"hasty":false}',X'D44E45D62FAB15B5B1E2397E1A41B6CDFBB3E7D04329A51D21266D618B58687B');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',14,4928,'round_closed','{"kind":"round_closed","round":2,"why":"instructor","silent":["fd296db0-c63c-4205-aee4-ac6d37c666cf"]}',X'4CD597C474E27D92444DC2F5ED6CDBFC5C118EBB715D7BD65D4A8FB19EB8D808');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',15,4938,'revealed','{"kind":"revealed","round":2,"contrast":{"said":"deltoid","said_name":"deltoid","count":1,"contrast":{"shared":["It acts on the shoulder joint.","It inserts on the humerus.","It arises partly from the clavicle.","It is a muscle of the shoulder."],"apart":[{"aspect":"action","first":"adducts the arm","second":"abducts the arm"},{"aspect":"action","first":"rotates the arm medially; its clavicular head flexes the arm","second":"its anterior part flexes the arm and rotates it medially; its posterior part extends the arm and rotates it laterally"},{"aspect":"insertion","first":"the lateral lip of the intertubercular sulcus of the humerus","second":"the deltoid tuberosity of the humerus"},{"aspect":"origin","first":"the medial half of the clavicle (clavicular head), the anterior surface of the sternum (sternocostal head) and the costal cartilages of ribs 1-6 (sternocostal head)","second":"the lateral third of the clavicle (anterior part), the acromion (middle part) and the spine of the scapula (posterior part)"},{"aspect":"group","first":"anterior axio-appendicular muscles","second":"scapulohumeral muscles"}]}}}',X'3ED336316F51797573202DF67BC42B1073231BAFD2B29868DB1820EA162C78F1');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',16,5089,'away','{"kind":"away","student":"1cbd96c4-8dc3-4f08-b029-c0d1f02d89bb","left":false}',X'3946EA775556EBEE1F0EE684A63A23717881CFDFE43E546AF9C62429017F2300');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',17,5090,'away','{"kind":"away","student":"99213e04-7028-4679-bce1-063e3d235d72","left":false}',X'331743D297F6E042DC897279F4E59AB87476F70188BBF94B004E9463C18AA850');
INSERT INTO "event" VALUES(X'01A217C1292476B0BDAB09622C73A23B',18,5090,'away','{"kind":"away","student":"fd296db0-c63c-4205-aee4-ac6d37c666cf","left":false}',X'542713F06213B028760087D4DBFA144C01CA8295F249540B41E3C2717941A1A0');
CREATE TABLE export (
    id     INTEGER PRIMARY KEY,
    path   TEXT NOT NULL,
    kind   TEXT NOT NULL,
    made_s INTEGER NOT NULL
) STRICT;
CREATE TABLE export_review (
    export INTEGER NOT NULL REFERENCES export (id) ON DELETE CASCADE,
    review BLOB NOT NULL,
    PRIMARY KEY (export, review)
) STRICT, WITHOUT ROWID;
CREATE TABLE folder (
    pseudonym_key BLOB NOT NULL,
    keep_s        INTEGER
) STRICT;
INSERT INTO "folder" VALUES(X'FD8E5E414C668BD9CCD846BC594B9A88D29BAC4090A15B82EA5DD846B4D12727',NULL);
CREATE TABLE host (
    key_hash BLOB NOT NULL
) STRICT;
INSERT INTO "host" VALUES(X'2487DA778E814AEEFEC7F9EFF1519E26F3EF7E8533B8672EFBFDD42A86C131B1');
CREATE TABLE review (
    id        BLOB PRIMARY KEY,
    word      TEXT NOT NULL,
    key_hash  BLOB NOT NULL,
    opened_s  INTEGER NOT NULL,
    touched_s INTEGER NOT NULL,
    ended     INTEGER NOT NULL DEFAULT 0,
    own_list  TEXT
) STRICT, WITHOUT ROWID;
INSERT INTO "review" VALUES(X'01A217C1292476B0BDAB09622C73A23B','scaphoid-cuboid',X'836E2C76C9C66AF5F6BE59FBF9EC430857B35D62F9075D261B3D3538BFC7B4C0',1795694864,1795694869,0,NULL);
CREATE TABLE seat (
    review     BLOB NOT NULL REFERENCES review (id),
    student    BLOB NOT NULL,
    token_hash BLOB NOT NULL,
    name       TEXT NOT NULL,
    person_hash BLOB,
    class_group TEXT,
    PRIMARY KEY (review, student)
) STRICT, WITHOUT ROWID;
INSERT INTO "seat" VALUES(X'01A217C1292476B0BDAB09622C73A23B',X'1CBD96C48DC34F08B029C0D1F02D89BB',X'C2C0FE2B716AB2EE86D7DEF6345A57F7FC91E32AD1DFB01F93E1CA01FEAE6D08','Iris',NULL,NULL);
INSERT INTO "seat" VALUES(X'01A217C1292476B0BDAB09622C73A23B',X'99213E0470284679BCE1063E3D235D72',X'B9917E8ADC01627570F110E7F99BDD73625C21B6CC1C056FDFB0A44EA8289128','Nils',NULL,NULL);
INSERT INTO "seat" VALUES(X'01A217C1292476B0BDAB09622C73A23B',X'FD296DB0C63C4205AEE4AC6D37C666CF',X'0F159B2FFB5F5A64314B1626B84C7FE899618A693DFA0D45E4E7FD3C4C35B2D4','Ida',NULL,NULL);
PRAGMA user_version = 3;
COMMIT;
