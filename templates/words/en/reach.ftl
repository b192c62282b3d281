# Words on how this box is reached: basic mode, the authority, its certificate.

basic-mode = Basic mode: keep this page open
problem-basic-mode = Not in basic mode
problem-basic-mode-do = This is done over the https address only, as it could be overheard here: { $address }

authority-title = Let this device trust the boat's box
authority-why = The box has a certificate of its own making. A device that trusts it reaches the box over https, keeps the pages when the network goes, and can keep its screen awake. It is good for the box's own address and nothing else.
authority-compare = Install it only if this fingerprint is the one printed when it was made:
authority-get = Get the certificate
authority-android = Android
authority-android-1 = Get the certificate with the button above and keep the file.
authority-android-2 = Open Settings, search for 'CA certificate', choose 'Install a certificate', then 'CA certificate'. Android warns that others could read along: this certificate lets nobody read along on other addresses.
authority-android-3 = Choose the file authority.crt.
authority-ios = iPad and iPhone
authority-ios-1 = Open this page in Safari, get the certificate with the button above and allow the profile.
authority-ios-2 = Open Settings, tap 'Profile downloaded' and install it.
authority-ios-3 = The profile alone is not enough: in Settings, General, About, Certificate Trust Settings, switch on full trust for it.
authority-then = Then open the box by this address

notice-certificate = The certificate of the https address ends on { $ends }, in { $days } days: renew it. From then on tablets are cut off from the box over https; basic mode goes on.
notice-certificate-ended = The certificate of the https address ended on { $ends }: installed tablets work alone. Open basic mode, or renew the certificate.
notice-certificate-not-yet = The certificate of the https address begins only on { $begins }, and this box's clock says { $now }: one of them is wrong, and tablets will not connect over https.
notice-certificate-missing = No certificate could be read for the https address: tablets cannot connect over https. The log says why; basic mode goes on.
notice-certificate-refused = The new certificate for the https address is not good and was not taken: the one before stays. The log says why.
