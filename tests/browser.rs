//! People's work in real Chromium: starts a drill and an empty box, hands their addresses to the
//! browser tests in `tests/browser`, and passes if they do.

#[cfg(test)]
mod browser {
    use std::io::{BufRead as _, BufReader, Write as _};
    use std::net::IpAddr;
    use std::path::Path;
    use std::process::{Child, Command, Stdio};

    use deckwatch::certificate::Authority;
    use deckwatch::clock::Clock;

    const PROGRAM: &str = env!("CARGO_BIN_EXE_deckwatch");
    const CREW: [(&str, &str, &str); 3] = [
        ("Mara Quist", "skipper", "730915"),
        ("Oren Falk", "divemaster", "604182"),
        ("Lys Harrow", "desk", "815037"),
    ];

    /// A server that ends with the test, whatever happens.
    struct Server(Child);

    impl Drop for Server {
        fn drop(&mut self) {
            // It may have ended by itself; either way it is gone.
            let _gone = self.0.kill();
            let _status = self.0.wait();
        }
    }

    fn drill(more: &[&str]) -> (Server, String, String) {
        let mut child = Command::new(PROGRAM)
            .args(["demo", "--speed", "1", "--bind", "127.0.0.1:0"])
            .args(more)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap()).lines();
        let (mut url, mut pin) = (None, None);
        for line in out.by_ref() {
            let line = line.unwrap();
            let word = |label: &str| {
                line.trim()
                    .strip_prefix(label)
                    .map(|rest| rest.trim().to_owned())
            };
            url = url.or_else(|| word("open").map(|u| u.trim_end_matches('/').to_owned()));
            pin = pin.or_else(|| word("PIN"));
            if pin.is_some() {
                break;
            }
        }
        // What it says later must find a reader, or it ends by a broken pipe.
        std::thread::spawn(move || out.count());
        (Server(child), url.unwrap(), pin.unwrap())
    }

    fn crew(data: &Path, args: &[&str], pin: Option<&str>) -> String {
        let mut child = Command::new(PROGRAM)
            .args(["crew", "--data"])
            .arg(data)
            .args(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        if let Some(pin) = pin {
            writeln!(child.stdin.as_mut().unwrap(), "{pin}").unwrap();
        }
        drop(child.stdin.take());
        let done = child.wait_with_output().unwrap();
        assert!(done.status.success(), "crew {args:?}");
        String::from_utf8(done.stdout).unwrap()
    }

    fn digits(text: &str) -> String {
        let code: String = text.chars().filter(char::is_ascii_digit).take(8).collect();
        assert_eq!(code.len(), 8, "{text}");
        code
    }

    /// Its accounts, and codes for devices.
    fn accounts(data: &Path) -> String {
        for (name, role, pin) in CREW {
            crew(data, &["add", name, "--role", role], Some(pin));
        }
        let codes: Vec<String> = (0..9)
            .map(|_| digits(&crew(data, &["code"], None)))
            .collect();
        codes.join(",")
    }

    /// A port that was free a moment ago: the box must know its own origin before it listens.
    fn free_port(address: IpAddr) -> u16 {
        let listener = std::net::TcpListener::bind((address, 0)).unwrap();
        listener.local_addr().unwrap().port()
    }

    fn a_box(data: &Path) -> (Server, String, String) {
        let codes = accounts(data);
        let bind = format!("127.0.0.1:{}", free_port([127, 0, 0, 1].into()));
        let server = serving(data, &bind, &[]);
        (server, format!("http://{bind}"), codes)
    }

    /// A box that is reached over https by an authority of its own, and at a bare address of this
    /// machine that is not loopback.
    fn reached_box(data: &Path) -> (Server, Vec<(&'static str, String)>) {
        let codes = accounts(data);
        // Which address would be used to go out; nothing is sent.
        let out = std::net::UdpSocket::bind("0.0.0.0:0").unwrap();
        out.connect("203.0.113.1:9").unwrap();
        let bare = out.local_addr().unwrap().ip();
        assert!(!bare.is_loopback() && !bare.is_unspecified(), "{bare}");
        let (plain, https) = (free_port(bare), free_port([127, 0, 0, 1].into()));
        let folder = data.join("certificates");
        let made = Command::new(PROGRAM)
            .args(["certificate", "--host", "boat.deckwatch.test", "--folder"])
            .arg(&folder)
            .output()
            .unwrap();
        assert!(made.status.success(), "{made:?}");
        foreign(&folder);
        let at = |name: &str| folder.join(name).to_str().unwrap().to_owned();
        let origin = format!("http://{bare}:{plain}");
        let bind = format!("{bare}:{plain}");
        let server = serving(
            data,
            &bind,
            &[
                "--origin",
                &origin,
                "--https-bind",
                &format!("127.0.0.1:{https}"),
                "--certificate",
                &at("certificate.pem"),
                "--key",
                &at("key.pem"),
                "--authority",
                &at("authority.pem"),
            ],
        );
        let told = vec![
            ("REACH_PLAIN", origin),
            (
                "REACH_HTTPS",
                format!("https://boat.deckwatch.test:{https}"),
            ),
            ("REACH_CODES", codes),
            ("REACH_CERTIFICATES", folder.to_str().unwrap().to_owned()),
        ];
        (server, told)
    }

    /// What the authority must not do: a leaf for another host.
    fn foreign(folder: &Path) {
        let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
        let key = read("authority-key/authority-key.pem");
        let authority = Authority::read(&read("authority.pem"), &key).unwrap();
        let hosts = ["other.deckwatch.test".parse().unwrap()];
        let made = authority.sign_for(&hosts, Clock::system().now()).unwrap();
        std::fs::write(folder.join("foreign.pem"), made.certificate).unwrap();
        std::fs::write(folder.join("foreign-key.pem"), made.key).unwrap();
    }

    fn serving(data: &Path, bind: &str, more: &[&str]) -> Server {
        let child = Command::new(PROGRAM)
            .args(["serve", "--bind", bind, "--data"])
            .arg(data)
            .args(more)
            .spawn()
            .unwrap();
        let server = Server(child);
        for _ in 0..100 {
            if std::net::TcpStream::connect(bind).is_ok() {
                return server;
            }
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
        panic!("the box did not start");
    }

    #[test]
    #[ignore = "needs Chromium and the browser driver; tests/run sets both up"]
    #[expect(
        clippy::disallowed_methods,
        reason = "which file of the tests to run is not the program's to configure"
    )]
    fn people_do_their_work_in_a_browser() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser");
        let data = tempfile::tempdir().unwrap();
        let (_drill, drill_url, drill_pin) = drill(&[]);
        let (_duty, duty_url, duty_pin) = drill(&["--on-duty"]);
        let (_box, box_url, box_codes) = a_box(data.path());
        let reach_data = tempfile::tempdir().unwrap();
        let (_reached, reach) = reached_box(reach_data.path());
        let status = Command::new("npx")
            .args(["playwright", "test"])
            // One file of them, while somebody works on it.
            .args(std::env::var("SPEC"))
            .current_dir(folder)
            .env("DECKWATCH", PROGRAM)
            .env("DRILL_URL", drill_url)
            .env("DRILL_PIN", drill_pin)
            .env("DUTY_URL", duty_url)
            .env("DUTY_PIN", duty_pin)
            .env("BOX_URL", box_url)
            .env("BOX_CODES", box_codes)
            .envs(reach)
            .status()
            .unwrap();
        assert!(status.success(), "the browser tests failed; see above");
    }
}
